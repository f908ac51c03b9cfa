"""The nominal numbers: where every wall, face, contact point, sheet and hole lies."""
