"""GPX, GeoJSON and KML, read into points and pieces."""
