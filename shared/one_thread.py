"""Linear algebra in one thread; imported before numpy is.

OpenBLAS takes a thread for each core, and these spin while they wait for one another. Our matrices are small,
and server, ear and workers share the cores: to count the light bands of one face took 10.3 s of processor
time on two busy cores and 2.2 s on idle ones, and takes 0.9 to 1.2 s in one thread, with the same result.
Whoever sets the variable himself is listened to.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
