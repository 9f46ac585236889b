"""The rules of the shop, one small function each, its cases in its docstring."""
