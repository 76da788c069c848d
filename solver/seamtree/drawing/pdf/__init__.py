"""PDF: vector pages, also those that illustration programs save under a suffix of their own (ISO 32000)."""
