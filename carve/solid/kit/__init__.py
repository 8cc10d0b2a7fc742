"""Tools that every part's mesh is made with: grids, plans of triangles, booleans, prisms."""
