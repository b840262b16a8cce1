"""The book of metal: lots, plans, melts, ingots and every kilogram that moved, kept in `book.db`."""
