"""What to make of it: diagnosis of a limb, balance, harvest, work of the year; as data."""
