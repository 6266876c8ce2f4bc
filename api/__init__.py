"""What people and programs touch: the command line, the pipeline, reports."""
