"""One typed doorway to the compiler, so that kernels keep their signatures for the type checker."""

import hashlib
import os
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

Function = TypeVar("Function", bound=Callable[..., object])

_HERE = Path(__file__).parent
_IMPORT = re.compile(rb"^from dabchick\.physics\.(\w+) import", re.MULTILINE)


@cache
def _kernel_store(module: str) -> str:
    """Where a module's machine code is kept: a folder named after its source and that of all it builds on.

    The compiler itself notices a change in a kernel's own file only, not in the kernels that it calls from
    other files, and would go on running their old code.
    """
    waiting, sources = [module], dict[str, bytes]()
    while waiting:
        name = waiting.pop()
        if name not in sources:
            sources[name] = (_HERE / f"{name}.py").read_bytes()
            waiting += [found.decode() for found in _IMPORT.findall(sources[name])]
    digest = hashlib.sha256(b"".join(sources[name] for name in sorted(sources)))
    return str(_HERE / "__pycache__" / f"{module}-{digest.hexdigest()[:16]}")


def compiled_before() -> bool:
    """True where the kernels of this version are on disk already, or where that cannot be told."""
    if cast(Any, numba).config.CACHE_DIR:
        return True
    return not os.access(_HERE, os.W_OK) or any(Path(_kernel_store("settle")).rglob("*.nbi"))


def _compile(function: Function, *, parallel: bool) -> Function:
    settings = cast(Any, numba).config
    given = settings.CACHE_DIR
    package, _, module = function.__module__.rpartition(".")
    if not given and package == "dabchick.physics":
        # the folder is looked up while the kernel is being declared; other users of the compiler keep theirs
        settings.CACHE_DIR = _kernel_store(module)
    try:
        kernel = numba.njit(cache=True, nogil=True, error_model="numpy", parallel=parallel)(function)
    finally:
        settings.CACHE_DIR = given
    return cast(Function, kernel)


def compiled(function: Function) -> Function:
    """Compile a kernel to machine code, kept on disk between runs; IEEE arithmetic, no fast-math.

    Division by zero gives infinity or NaN, as it does in numpy.
    """
    return _compile(function, parallel=False)


def compiled_parallel(function: Function) -> Function:
    """Compile a kernel whose `numba.prange` loops run on every core."""
    return _compile(function, parallel=True)
