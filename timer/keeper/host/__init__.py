"""The host's side of a keeper: its client, starting or greeting it, and making it dark from outside."""
