"""Shop calculations: formulas of the trade, each with its validity and its published source.

They advise beside the readings that they use; none of them decides anything.
"""
