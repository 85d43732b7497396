"""What to fly: conditions chosen for what they tell of the figures wanted, in an order that saves time."""
