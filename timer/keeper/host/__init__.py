"""The host's side of a keeper: its client, its serial port, who holds the lamp, and making it dark from outside."""
