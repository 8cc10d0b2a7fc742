"""The body: outline, pockets, chambers, and the wood between them."""
