"""Cutting: parts from sheets and pieces from lengths, with as little bought and as few cuts as can be.

Pure computation: no Django, no files. All sizes inside are whole tenths of a millimetre.
"""
