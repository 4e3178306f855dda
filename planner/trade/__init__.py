"""The room and the chosen methods become tasks, links and quantities."""
