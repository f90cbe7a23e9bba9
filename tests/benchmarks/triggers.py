"""How each alteration is known, computed from the tables and written beside them: python -m tests.benchmarks.triggers

Run it again whenever alterations.toml or observables.toml have changed; `fitcheck rules` prints the result.
"""

from pathlib import Path

import fitcheck.advice
from fitcheck.advice.table import knowledge
from fitcheck.advice.triggers import known

HEAD = """# HOW EACH ALTERATION IS KNOWN
#
# Computed by tests/benchmarks/triggers.py from alterations.toml and observables.toml; do not edit.
# by photos: claimed from what photos show. inferred: photos make it more probable, but do not suffice.
# by hand: claimed once it is measured by hand. not yet: not even then.

"""


def main() -> None:
    """Write knowledge/triggers.toml."""
    table = knowledge()
    lines = [f'{row.id} = "{known(row, table)}"' for row in table.alterations.values()]
    file = Path(fitcheck.advice.__path__[0]) / "knowledge" / "triggers.toml"
    file.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")
    print(f"{len(lines)} alterations written to {file.name}")


if __name__ == "__main__":
    main()
