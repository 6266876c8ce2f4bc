"""The report for people: one prepared view, shown as HTML, as PDF and on the screen."""
