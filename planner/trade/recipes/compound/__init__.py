"""Ways to tape and coat the joints."""
