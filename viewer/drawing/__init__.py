"""A scene as outlines: faces in the order in which they are painted, for SVG and paper; no graphics library."""
