"""Answers for meetings: a page with every door, tables, issues for building models. All from the reports of checks."""
