"""Where the bytes of a calendar come from: files, folders, links and kept copies."""
