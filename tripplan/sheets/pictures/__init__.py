"""The trip line, the map and the wear profile, drawn as SVG."""
