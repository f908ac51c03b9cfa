"""Many boxes: shares, forecasts, sensitivity, comparisons, and how sure each figure is."""
