"""The QA office: the record beside its evidence, decided about."""
