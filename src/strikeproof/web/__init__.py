"""The bench in the browser: a front that asks the desk."""
