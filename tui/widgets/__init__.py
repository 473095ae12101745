"""What screens are drawn with."""
