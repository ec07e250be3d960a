"""The knitting machine: its carriage, its carriers, and the minutes of a panel traverse by traverse."""
