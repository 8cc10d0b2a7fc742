"""Instrument parts for a three-axis router: shaped, proven and exported.

Data flows one way through the rooms: design, shape, solid, then check, shop and
export, and last the two faces, ``lab`` and ``cli``.
"""

import os

# Our matrices are small. Where another program keeps a core busy, OpenBLAS's threads wait for each
# other in a spin, and a plate that one thread factors in 60 ms takes seconds. It reads this
# when numpy is first loaded, so it is said here; whoever set it keeps their choice.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__version__ = "0.1.0"
