"""What is remembered: the furnace's own log, written by one thread and read by everybody."""
