"""Calendar files in: bytes become stretches that are taken, or every reason why not."""
