"""Cost: yarn purchase, machine hour, cost sheet, quantity, spread of the price, and planning of the order."""
