"""The job itself, pure: from what a look at a frame can say to a season of rulings."""
