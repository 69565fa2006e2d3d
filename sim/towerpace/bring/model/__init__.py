"""Quantities from an open building model (ISO 16739-1, IFC): panels and linings by level and zone.

What counts is said in a mapping file, not guessed: which classes and types are which column, which storey is
which level, which way each zone faces. A panel belongs to the level in which its bottom lies, since a curtain
wall spans many storeys and hangs in one. Its zone is the compass direction of its outer face, or a property.
"""
