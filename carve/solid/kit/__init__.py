"""What meshes are made with: grids, triangulated plans, prisms, booleans, detached patches."""
