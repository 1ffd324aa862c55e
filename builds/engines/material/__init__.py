"""How much of each material a build needs, in packs, money and mass. Pure figures, no shop."""
