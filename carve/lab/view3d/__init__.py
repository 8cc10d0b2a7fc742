"""A view in 3D for a notebook: layers of triangles in, pictures out. It knows nothing of parts."""
