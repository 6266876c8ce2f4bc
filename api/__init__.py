"""What people and programs touch: the command line, the pipeline, reports."""

import shared.one_thread  # noqa: F401 - before numpy, which the modules here import
