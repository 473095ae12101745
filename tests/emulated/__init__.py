"""Two emulated boards with a real kernel's GPIO, their pins watched from outside. See README.md."""
