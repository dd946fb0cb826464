"""The vortex lattice: panels, velocities, images, condensed to strips."""
