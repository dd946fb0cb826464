"""The finite wing: planform, endplates, lattice, ground, roof inflow, coupling to section data."""
