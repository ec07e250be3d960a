"""The loop: why a cloth curls, leans and stretches, and what if; the page is `pages.loop`."""
