"""What people see: pages served on the local network, fed by the link alone."""
