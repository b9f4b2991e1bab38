"""What holds the railing together: joints counted, the fastener schedule, what to bring along."""
