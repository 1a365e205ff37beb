"""What a readout says of a car: findings, what is held back, and remarks."""
