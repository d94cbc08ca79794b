"""numpy uses one thread in tests, as in the command."""
import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
