"""What is given to the paper, in order: strips, prints, test sheets, what is missing; and recipes derived from others."""
