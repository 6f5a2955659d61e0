"""Run every measurement, or those of the modules named: `python -m benchmarks [MODULE ...]`."""

import importlib
import pkgutil
import sys

import benchmarks
from benchmarks.table import shown


def main(names: list[str]) -> int:
    every = [module.name for module in pkgutil.iter_modules(benchmarks.__path__)]
    unknown = [name for name in names if name not in every]
    if unknown:
        print(f"No measurements called {', '.join(unknown)}. There are: {', '.join(every)}.", file=sys.stderr)
        return 2
    missed = 0
    for name in names or every:
        if name == "__main__":
            continue
        module = importlib.import_module(f"benchmarks.{name}")
        for bench in getattr(module, "BENCHES", []):
            rows = list(bench())
            missed += sum(row.met is False for row in rows)
            print(f"\n{name}: {(bench.__doc__ or bench.__name__).strip().splitlines()[0]}")
            print(shown(rows), flush=True)
    print(f"\n{missed} of the wanted figures missed." if missed else "\nAll wanted figures met.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
