"""A meet's day: everybody's marks on the hall's apparatus, crew sheets, cards, what is on now."""
