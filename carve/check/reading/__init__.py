"""What checks read off meshes and shapes. No check stands here."""
