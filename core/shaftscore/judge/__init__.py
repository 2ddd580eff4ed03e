"""What is wrong with a machine: findings, and the checks, runs and draws that make them."""
