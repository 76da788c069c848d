"""The planar map: patches, edges, junctions and lines of a block."""
