"""What people do with the other rooms, a package for each stage of the job, one function a task."""
