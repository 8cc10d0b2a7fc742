"""What is wrong with a shape, said to its builder. Begin with ``said``; one file a family.

Shapes know values and no keys; here stand the keys of the design file, the units and the words.
"""
