"""What people do with the other rooms, one function a task."""
