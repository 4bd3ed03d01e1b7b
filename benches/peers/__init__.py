"""The same figures by other roads, each written as well as its tool allows."""
