"""The one decorator that compiles a scalar formula, and the type names the links share."""

from __future__ import annotations

import functools
import hashlib
import os
import tempfile
import threading
from collections.abc import Callable
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tradespace.errors import DomainError

FloatArray = NDArray[np.float64]
Function = TypeVar("Function", bound=Callable[..., Any])
PACKAGE = Path(__file__).parents[1]

__all__ = [
    "ArrayLike", "FloatArray", "Function", "borrowed", "broadcast", "cache_places", "inlined", "kernel", "records",
    "require",
]  # fmt: skip


COMPILED_ROOMS = ("physics/**/*.py", "spacecraft/*.py", "campaign/*.py")
"""Where kernels live; nothing outside may define one."""


def _cache_name() -> str:
    """A name that changes with the kernels, their data and the compiler, so no stale code is ever loaded."""
    digest = hashlib.sha256()
    for pattern in (*COMPILED_ROOMS, "constants.py", "tables.py", "units.py", "data/*.csv"):
        for path in sorted(PACKAGE.glob(pattern)):
            digest.update(path.read_bytes())
    for library in ("numba", "boinor", "numpy"):
        try:
            digest.update(f"{library}={version(library)}".encode())
        except PackageNotFoundError:
            digest.update(f"{library}=?".encode())
    return f"kernels-{digest.hexdigest()[:16]}"


def cache_places() -> tuple[Path, Path]:
    """Folders for what may be made again: in the user's cache, and in the temporary folder if that fails."""
    home = os.environ.get("XDG_CACHE_HOME") or str(Path("~").expanduser() / ".cache")
    owner = getattr(os, "getuid", lambda: 0)()
    return Path(home) / "tradespace", Path(tempfile.gettempdir()) / f"tradespace-{owner}"


def _choose_cache() -> None:
    """Point the compiler at a folder of our own, in the user's cache or else in the temporary folder."""
    if "NUMBA_CACHE_DIR" in os.environ:
        return
    for parent in cache_places():
        folder = parent / _cache_name()
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            os.environ["NUMBA_CACHE_DIR"] = str(folder)
            return


_choose_cache()

import numba  # noqa: E402  (must see the cache folder chosen above)
import numba.extending  # noqa: E402
from numba.core import cgutils  # noqa: E402
from numba.np.unsafe.ndarray import to_fixed_tuple  # noqa: E402


def kernel(function: Function) -> Function:
    """Compile a scalar function of floats; ``NUMBA_DISABLE_JIT=1`` leaves it plain Python.

    The compiled code releases the interpreter lock, divides like IEEE arithmetic (no exceptions) and is
    cached on disk.
    """
    compiled = numba.njit(nogil=True, cache=True, error_model="numpy")(function)
    return cast(Function, compiled)


def inlined(function: Function) -> Function:
    """A :func:`kernel` that becomes part of the code of whatever calls it.

    For the long functions that a design runs through once: apart, each begins on a page of its own, where they push one
    another out of the processor's memory for code, and they hand on dozens of arguments.
    """
    compiled = numba.njit(nogil=True, cache=True, error_model="numpy", forceinline=True)(function)
    return cast(Function, compiled)


def records(rows: NDArray[Any]) -> NDArray[Any]:
    """Rows whose fields read as attributes, which plain Python needs when compilation is switched off."""
    return rows if hasattr(_fill, "py_func") else rows.view(np.recarray)


def borrowed(array: Any) -> Any:
    """The same array, for kernels: one whose owner outlives the call, so that nobody counts who refers to it.

    Counting is an atomic operation on one place in memory, at every call of a kernel and for all threads together.
    """
    return array


def _without_owner(_context: Any, array: Any) -> Any:
    """Type and code of an array without the place at which its owner counts references."""

    def build(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        nothing: Any = cgutils.get_null_value
        same = context.make_array(signature.args[0])(context, builder, arguments[0])
        same.meminfo, same.parent = nothing(same.meminfo.type), nothing(same.parent.type)
        return same._getvalue()

    return array(array), build


_uncounted: Any = numba.extending.intrinsic(_without_owner)


@numba.extending.overload(borrowed, strict=False)
def _borrowed_compiled(array: Any) -> Any:
    return lambda array: _uncounted(array)  # noqa: PLW0108 (the compiler wants a function)


_COMPILING = threading.Lock()
_ROWS = 10_000  # elements whose arguments are gathered side by side


def _call(function: Any, values: FloatArray) -> float:
    """Call a scalar function with the numbers of a row as its arguments."""
    return cast(float, function(*values))


@numba.extending.overload(_call, strict=False)
def _call_compiled(function: Any, values: Any) -> Any:
    count = len(function.signature.args)
    unpacked: Any = to_fixed_tuple
    return lambda function, values: function(*unpacked(values, count))


@kernel
def _fill(function: Any, table: Any, results: Any) -> None:
    """Results of a scalar function for every row of a table of its arguments."""
    for row in range(results.size):
        results[row] = _call(function, table[row])


@functools.cache
def _entry_point(scalar: Callable[..., float], count: int) -> Any:
    """The scalar kernel as a bare function, which, unlike one made for arrays, is read back from the disk."""
    signature = numba.float64(*[numba.float64] * count)
    return numba.cfunc(signature, cache=True, error_model="numpy")(cast(Any, scalar).py_func)


def broadcast(scalar: Callable[..., float], *arguments: ArrayLike) -> FloatArray:
    """Apply a scalar kernel over broadcast arrays; scalars in give a zero-dimensional result.

    Parameters
    ----------
    scalar : callable
        A function decorated with :func:`kernel` that returns one float.
    *arguments : array_like
        Its arguments, broadcast against each other.

    Returns
    -------
    ndarray
        One float64 value per element.
    """
    arrays = [np.asarray(argument, dtype=np.float64) for argument in arguments]
    if all(array.ndim == 0 for array in arrays):
        plain = getattr(scalar, "py_func", scalar)
        return np.asarray(plain(*(float(array) for array in arrays)), dtype=np.float64)
    if not hasattr(scalar, "py_func"):  # compilation is switched off
        return np.asarray(np.vectorize(scalar, otypes=[np.float64])(*arrays), dtype=np.float64)
    with _COMPILING:
        function = _entry_point(scalar, len(arrays))
    shape = np.broadcast_shapes(*(array.shape for array in arrays))
    columns = [array if array.ndim == 0 else np.broadcast_to(array, shape).reshape(-1) for array in arrays]
    results = np.empty(shape)
    flat = results.reshape(-1)
    table = np.empty((min(_ROWS, flat.size), len(columns)))
    for begin in range(0, flat.size, _ROWS):
        rows = table[: flat.size - begin]
        for place, column in enumerate(columns):
            rows[:, place] = column if column.ndim == 0 else column[begin : begin + _ROWS]
        _fill(function, rows, flat[begin : begin + _ROWS])
    return results


def require(condition: ArrayLike, message: str) -> None:
    """Raise :class:`DomainError` with ``message`` unless the condition holds everywhere.

    Raises
    ------
    DomainError
        If any element of ``condition`` is false.
    """
    if not np.all(condition):
        raise DomainError(message)
