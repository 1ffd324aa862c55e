"""The trade's standard work as this project's own data: CSV files and what reads them.

Facts of the trade are marked "common practice, no source"; prices are invented. A shop gets its own copy
of it all to change; these files are only where it starts from.
"""
