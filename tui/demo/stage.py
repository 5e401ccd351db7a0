"""What stands still: backdrop, table, pad, display box, and the words that say invented."""

from PIL import Image, ImageDraw, ImageFont

from tui.demo import colours
from tui.demo.layout import DISPLAY, HEIGHT, LEAGUE, PAD, TABLE_FRONT, TABLE_TOP, WIDTH


def stage(scale: float) -> Image.Image:
    """The empty stage in Y'CbCr, ``scale`` times 1280x720 pixels."""
    picture = Image.new("RGB", (WIDTH, HEIGHT), colours.TABLE_FACE)
    draw = ImageDraw.Draw(picture)
    _backdrop(picture, draw)
    _table(draw)
    _pad(draw)
    _front(draw)
    size = round(WIDTH * scale), round(HEIGHT * scale)
    return colours.encoded(picture.resize(size, Image.Resampling.BOX))


def _backdrop(picture: Image.Image, draw: ImageDraw.ImageDraw) -> None:
    ramp = Image.linear_gradient("L").resize((WIDTH, TABLE_TOP))
    low = Image.new("RGB", ramp.size, colours.BACKDROP_LOW)
    high = Image.new("RGB", ramp.size, colours.BACKDROP)
    picture.paste(Image.composite(low, high, ramp), (0, 0))
    small, big = ImageFont.load_default(24), ImageFont.load_default(34)
    for x in (235, 1045):
        draw.text((x, 84), LEAGUE.split(" Stacking")[0], colours.LETTERING, big, anchor="mm")
        draw.text((x, 122), "Stacking League", colours.LETTERING, small, anchor="mm")
        draw.text((x, 160), "INVENTED - NOT REAL", colours.WRISTBAND, small, anchor="mm")


def _table(draw: ImageDraw.ImageDraw) -> None:
    top, front = TABLE_TOP, TABLE_FRONT
    draw.polygon([(130, top), (1150, top), (1240, front), (40, front)], colours.TABLE)
    draw.polygon(
        [(230, top + 14), (1050, top + 14), (1096, front - 14), (184, front - 14)], colours.MAT
    )
    draw.line([(40, front), (1240, front)], colours.EDGE, 5)


def _pad(draw: ImageDraw.ImageDraw) -> None:
    left, top, right, bottom = PAD
    draw.polygon([(left + 8, top), (right - 8, top), (right, bottom), (left, bottom)], colours.PAD)
    middle = (left + right) // 2
    for a, b in ((left + 16, middle - 8), (middle + 8, right - 16)):
        draw.rectangle((a, top + 8, b, bottom - 8), colours.PAD_ZONE, colours.PAD_LINE, 3)


def _front(draw: ImageDraw.ImageDraw) -> None:
    left, top, right, bottom = DISPLAY
    draw.rectangle(
        (left - 10, top - 8, right + 10, bottom + 8), colours.DISPLAY_BOX, colours.EDGE, 3
    )
    font = ImageFont.load_default(26)
    for x, words in ((280, "invented demonstration"), (1000, "no real person, no real time")):
        draw.text((x, 666), words, colours.LETTERING, font, anchor="mm")
