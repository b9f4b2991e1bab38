"""What is made and cut: balusters, pieces, the cut list."""
