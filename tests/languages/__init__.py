"""The catalogues: what has to be said in every language, and keeping them in step."""
