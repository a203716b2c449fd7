"""Blind trials of the mixture task, and the crank-resolved truth behind them."""
