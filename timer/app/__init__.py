"""What commands and pages ask for: each task is done here once, for both."""
