"""Element, circuit and wall on paper, before there is a furnace: pure sums, with the tables that they stand on."""
