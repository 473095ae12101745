"""What host and keeper say to each other, and how it is framed."""
