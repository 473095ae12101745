"""What a machine needs to be a darkroom's: the files that `lamphouse setup` shows, writes and takes back."""
