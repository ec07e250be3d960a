"""One style, all answers: what the developer decides goes in, everything that follows from it comes out."""
