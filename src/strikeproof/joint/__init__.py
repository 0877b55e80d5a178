"""The bolt: threads, property classes, torque and tension, stiffness, limits."""
