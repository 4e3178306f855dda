"""The living job, as people read it: its log, what a revision moved."""
