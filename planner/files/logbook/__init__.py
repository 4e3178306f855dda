"""The log of a job: a plain text file beside the job file that is only added to."""
