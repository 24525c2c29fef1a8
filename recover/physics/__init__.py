"""What water does in a kiln's lining: how much it holds, how long it stays, what it costs to drive it out."""
