"""The keys of a job file in words: a page, a schema, answers to unknown ones."""
