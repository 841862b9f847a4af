"""What the service costs, as ratios to baselines timed in the same run; by python -m tests.bench."""
