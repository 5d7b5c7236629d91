"""Results → sentences, in the language spoken now. No layout and no decisions."""
