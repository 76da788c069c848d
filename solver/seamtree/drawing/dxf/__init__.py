"""DXF drawings from R12 to 2018, as text or binary."""
