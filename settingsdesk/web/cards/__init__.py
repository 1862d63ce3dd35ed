"""The coach's pages of cards, the page behind a card's code, and remarks on cards."""
