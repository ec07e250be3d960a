"""The swatch bench on the page: readings typed one after the other, pictures with their lattice, what follows."""
