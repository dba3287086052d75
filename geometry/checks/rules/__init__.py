"""Rules that judge a layout, one file each."""
