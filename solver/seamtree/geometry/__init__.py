"""Plain geometry that the planar map, the search and the report share."""
