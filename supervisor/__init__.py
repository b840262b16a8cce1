"""What decides: the firing, its watches, its alarms and its log."""
