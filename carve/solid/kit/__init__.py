"""What every part's mesh is made with: grids, triangulated plans, prisms, booleans, detached patches."""
