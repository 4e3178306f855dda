"""The use cases behind the commands, one module each."""
