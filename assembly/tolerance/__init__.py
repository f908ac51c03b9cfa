"""From the errors that hands leave to the fit of the joints: sampling, making, settling, outcomes, study."""
