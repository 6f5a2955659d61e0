"""Speed as ratios within one run. Each module here names its measurements in a list `BENCHES`."""
