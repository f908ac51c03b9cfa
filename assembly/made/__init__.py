"""From the errors that hands leave to a made box: faces, sheets, holes and what is read off."""
