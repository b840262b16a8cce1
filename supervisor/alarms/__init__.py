"""What becomes of findings: their life as alarms, and the words that people read."""
