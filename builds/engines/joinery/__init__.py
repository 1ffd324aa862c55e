"""From a unit's outer sizes and choices to its parts, their places and its fronts. Pure figures, no shop.

Lengths are whole tenths of a millimetre. In a unit x runs from left to right, y from its front to its
back and z up from the floor.
"""
