"""What people do, one module a job. Both front ends call these and neither grows its own copy."""
