"""How timber, sheets and screws behave: moisture, seasons, bond, withdrawal, standards."""
