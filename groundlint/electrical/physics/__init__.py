"""What published tables and textbook equations say of conductors, earth, bodies, ratings, sources and relays."""
