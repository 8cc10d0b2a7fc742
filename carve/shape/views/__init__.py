"""Views of the parts for paper and screen. Nothing else in ``shape`` knows them."""
