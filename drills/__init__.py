"""What a taster does with the cards: drills, tastings, memory and what is kept."""
