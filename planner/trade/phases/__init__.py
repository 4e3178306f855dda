"""The phases of the work, one file each, in the order of the trade."""
