"""The text of the measures, read back by Prometheus's own parser."""

from __future__ import annotations

from prometheus_client.parser import text_string_to_metric_families


def samples(text: str) -> dict[str, float]:
    """Every sample by its name and the values of its labels."""
    return {
        " ".join([sample.name, *(sample.labels[name] for name in sorted(sample.labels))]): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }
