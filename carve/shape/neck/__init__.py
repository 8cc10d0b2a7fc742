"""The neck: profile sections along it, channel, headstock, heel."""
