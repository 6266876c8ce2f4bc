"""The stores: what rebuilds used, what the next one will want, what is on hand."""
