"""The furnace files that ship with the program: `bench` and `workshop`, both invented."""
