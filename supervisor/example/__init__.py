"""The invented workshop of the example: its bins, its ten melts and their stories, fired by the simulator."""
