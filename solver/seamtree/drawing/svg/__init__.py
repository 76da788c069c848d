"""Reading SVG files: bytes → elements → painted shapes with styles and transforms → Drawing (`read`)."""
