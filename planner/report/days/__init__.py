"""Day sheets and who comes when."""
