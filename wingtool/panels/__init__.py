"""Inviscid flow by panels: one factorisation for all angles, several elements, ground image."""
