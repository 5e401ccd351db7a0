"""Invented footage of an invented league, in which every truth is known to the frame.

Nothing here shows a real person, league, brand or performance. A clip comes about in this order:
``score`` says what happens; ``performance`` moves cups and hands by it (``stacks``, ``conductor``);
``painter`` draws the frames (``sampling``, ``drawings``, ``layout``); ``truth`` tells what really
happened; ``tagging`` is the review that the truth asks for; ``build`` writes clips, ``docket`` a
folder of claims on them.
"""
