"""The messenger: tells people outside, from a process of its own, which goes on when the supervisor does not."""
