"""Linear algebra of small matrices on one thread, whatever the process has set."""

from __future__ import annotations

from contextlib import ContextDecorator
from typing import Final

from threadpoolctl import threadpool_limits

one_thread: Final[ContextDecorator] = threadpool_limits.wrap(limits=1, user_api="blas")
"""Context and decorator: BLAS works on one thread inside, and as before afterwards.

For matrices of a few hundred rows, threads wait for each other 30 times longer than they work.
"""
