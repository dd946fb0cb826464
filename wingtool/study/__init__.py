"""A study file read, checked and run; one function for each command."""
