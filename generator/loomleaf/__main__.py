"""``python -m loomleaf``."""

from .cli import main

raise SystemExit(main())
