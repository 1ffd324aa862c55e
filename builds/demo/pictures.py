"""Pictures drawn by the project itself, in place of photos: a van's inside, furniture, pipes, paint.

Simple flat drawings with a little grain, the same every time for the same words.
"""

from __future__ import annotations

import io
import random
from collections.abc import Callable

from PIL import Image, ImageDraw, ImageFilter

SIZE = (1200, 900)
Colour = tuple[int, int, int]

WALL: Colour = (214, 208, 197)
STEEL: Colour = (150, 156, 160)
FLOOR: Colour = (120, 96, 72)
PLY: Colour = (214, 182, 134)
DARK: Colour = (58, 52, 46)
GLASS: Colour = (176, 206, 214)


def draw_picture(subject: str, seed: int = 0) -> io.BytesIO:
    """A JPEG of one of the `SUBJECTS`, with colours that vary by `seed`."""
    rng = random.Random(f"{subject}-{seed}")
    image = Image.new("RGB", SIZE, WALL)
    SUBJECTS[subject](ImageDraw.Draw(image), rng)
    image = _with_light(image.filter(ImageFilter.GaussianBlur(0.8)), rng)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=86)
    out.seek(0)
    return out


def _with_light(image: Image.Image, rng: random.Random) -> Image.Image:
    """Softens the flatness: light from one side and a little grain."""
    wide = Image.linear_gradient("L").resize((2000, 2000)).rotate(rng.choice((60, 120, 240, 300)))
    shade = wide.crop((400, 550, 1600, 1450))
    grain = Image.effect_noise(SIZE, 18)
    lit = Image.composite(image, image.point(lambda v: int(v * 0.72)), shade)
    return Image.blend(lit, Image.merge("RGB", (grain, grain, grain)), 0.05)


def _shade(colour: Colour, by: float) -> Colour:
    return tuple(max(0, min(255, int(c * by))) for c in colour)  # type: ignore[return-value]


def _van_inside(draw: ImageDraw.ImageDraw, rng: random.Random, *, lined: bool) -> None:
    """The load space seen from the rear doors: floor, two walls, roof with ribs, daylight from the cab."""
    wall = _shade(PLY, 1.08) if lined else STEEL
    back = (430, 250, 770, 600)
    draw.polygon([(0, 900), (1200, 900), (back[2], back[3]), (back[0], back[3])], fill=FLOOR)
    draw.polygon([(0, 0), (0, 900), (back[0], back[3]), (back[0], back[1])], fill=_shade(wall, 0.88))
    draw.polygon([(1200, 0), (1200, 900), (back[2], back[3]), (back[2], back[1])], fill=_shade(wall, 0.96))
    draw.polygon([(0, 0), (1200, 0), (back[2], back[1]), (back[0], back[1])], fill=_shade(wall, 1.06))
    draw.rectangle(back, fill=_shade(GLASS, 1.05))
    draw.rectangle((back[0], 430, back[2], back[3]), fill=DARK)
    for n in range(5):
        part = n / 5
        x, y = back[0] * part, back[1] * part
        foot = 900 - (900 - back[3]) * part
        line = _shade(wall, 0.72)
        draw.line([(x, foot), (x, y), (1200 - x * (1200 - back[2]) / back[0], y)], fill=line, width=10 - n)
        draw.line(
            [(1200 - x * (1200 - back[2]) / back[0], y), (1200 - x * (1200 - back[2]) / back[0], foot)],
            fill=line,
            width=10 - n,
        )
    for n in range(9):
        x = 60 + n * 135
        draw.line([(x, 900), (440 + n * 40, 600)], fill=_shade(FLOOR, 0.86), width=3)


def bare_van(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
    _van_inside(draw, rng, lined=False)


def lined_van(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
    _van_inside(draw, rng, lined=True)
    for x in (520, 600, 680):
        draw.ellipse((x - 9, 262, x + 9, 272), fill=(255, 246, 214))


def window(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
    """A side window bonded into the panel."""
    body = rng.choice([(206, 204, 196), (86, 104, 118), (168, 150, 120)])
    draw.rectangle((0, 0, 1200, 900), fill=body)
    draw.line([(0, 690), (1200, 670)], fill=_shade(body, 0.8), width=8)
    draw.rounded_rectangle((220, 180, 980, 600), 60, fill=DARK)
    draw.rounded_rectangle((250, 208, 950, 572), 44, fill=GLASS)
    draw.polygon([(300, 572), (520, 208), (640, 208), (420, 572)], fill=_shade(GLASS, 1.12))
    draw.line([(600, 208), (600, 572)], fill=DARK, width=12)


def carcass(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
    """A carcass in clamps on the bench; its size and divisions vary."""
    draw.rectangle((0, 640, 1200, 900), fill=_shade(FLOOR, 0.9))
    draw.rectangle((0, 600, 1200, 650), fill=_shade(PLY, 0.75))
    wide, high, columns = rng.randrange(380, 860), rng.randrange(170, 440), rng.randrange(1, 5)
    left, top = 600 - wide // 2 + rng.randrange(-60, 60), 600 - high
    right = left + wide
    draw.rectangle((left, top, right, 600), fill=_shade(PLY, rng.uniform(0.62, 0.74)))
    for n in range(columns + 1):
        x = left + (wide - 24) * n // columns
        draw.rectangle((x, top, x + 24, 600), fill=PLY)
    shelf = top + high * rng.choice((4, 5, 6)) // 10
    for y in (top, shelf, 576):
        draw.rectangle((left, y, right, y + 24), fill=_shade(PLY, 1.06))
    clamp = rng.choice([(150, 58, 40), (58, 92, 120), (196, 150, 50)])
    for n in range(1 + columns):
        x = left + 30 + (wide - 80) * n // max(1, columns)
        draw.rectangle((x, top - 60, x + 16, 640), fill=(70, 76, 82))
        draw.rectangle((x - 34, top - 24, x + 50, top), fill=clamp)


def painted(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
    """Fronts with a frame of strips on the drying rack."""
    draw.rectangle((0, 0, 1200, 900), fill=(196, 192, 184))
    paint = rng.choice([(96, 122, 110), (72, 92, 112), (206, 196, 170), (150, 96, 78)])
    for row in range(2):
        for column in range(4):
            x, y = 70 + column * 275, 90 + row * 385
            draw.rectangle((x, y, x + 235, y + 335), fill=paint)
            draw.rectangle((x + 34, y + 34, x + 201, y + 301), fill=_shade(paint, 0.86))
            draw.line([(x + 34, y + 301), (x + 201, y + 301)], fill=_shade(paint, 1.2), width=4)
    for y in (440, 826):
        draw.rectangle((0, y, 1200, y + 14), fill=(112, 88, 62))


def kitchen(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
    """A kitchen run fixed in the van, with its worktop."""
    lined_van(draw, rng)
    paint = rng.choice([(96, 122, 110), (72, 92, 112), (206, 196, 170)])
    draw.polygon([(0, 520), (330, 470), (330, 690), (0, 900)], fill=paint)
    draw.polygon([(0, 480), (345, 440), (345, 474), (0, 528)], fill=(168, 124, 78))
    for x in (20, 128, 226):
        draw.line([(x, 880 - x * 0.62), (x, 532 - x * 0.15)], fill=_shade(paint, 0.75), width=6)
    for x in (96, 196, 300):
        draw.ellipse((x - 8, 560 - x * 0.14, x + 8, 576 - x * 0.14), fill=(214, 206, 190))


def pipes(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
    """Hot and cold pipes clipped side by side, lagged, with labels."""
    draw.rectangle((0, 0, 1200, 900), fill=_shade(STEEL, 1.05))
    for x in range(60, 1200, 190):
        draw.rectangle((x, 0, x + 26, 900), fill=_shade(STEEL, 0.86))
    for y, colour in ((300, (188, 74, 60)), (390, (66, 104, 150)), (640, (92, 92, 92))):
        draw.line([(0, y), (1200, y + 24)], fill=colour, width=34)
        for x in range(120, 1200, 260):
            draw.rectangle((x, y - 22, x + 40, y + 44), fill=(46, 46, 46))
    draw.rectangle((520, 470, 720, 540), fill=(250, 246, 226))
    draw.line([(545, 495), (690, 495)], fill=DARK, width=6)
    draw.line([(545, 516), (650, 516)], fill=DARK, width=6)


def gauge(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
    """A gauge on a pressure test."""
    draw.rectangle((0, 0, 1200, 900), fill=(126, 132, 134))
    draw.ellipse((300, 150, 900, 750), fill=(40, 42, 44))
    draw.ellipse((335, 185, 865, 715), fill=(248, 246, 238))
    for n in range(11):
        start = 150 + n * 24
        draw.arc((365, 215, 835, 685), start, start + 3, fill=DARK, width=34)
    draw.line([(600, 450), (600 + 150, 330 + rng.randrange(40))], fill=(160, 30, 24), width=14)
    draw.ellipse((575, 425, 625, 475), fill=DARK)


def wiring(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
    """Cables in conduit, fanned out to a fuse board, with a flag on each end."""
    draw.rectangle((0, 0, 1200, 900), fill=_shade(PLY, 0.95))
    draw.rectangle((640, 160, 1040, 720), fill=(44, 48, 52))
    for n in range(8):
        y = 210 + n * 60
        colour = rng.choice([(176, 40, 32), (30, 30, 30), (60, 96, 150), (208, 170, 40)])
        draw.line([(0, 120 + n * 84), (260, 150 + n * 76), (660, y)], fill=colour, width=12)
        draw.rectangle((680, y - 18, 1000, y + 18), fill=(214, 210, 200))
        draw.rectangle((430, 168 + n * 70, 490, 200 + n * 68), fill=(250, 246, 226))


def plate(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
    """A maker's plate, riveted on, its lines too small to read from here."""
    draw.rectangle((0, 0, 1200, 900), fill=(92, 96, 100))
    draw.rounded_rectangle((180, 190, 1020, 710), 26, fill=_shade(STEEL, 1.25))
    for x in (220, 980):
        for y in (230, 670):
            draw.ellipse((x - 16, y - 16, x + 16, y + 16), fill=(104, 108, 112))
    for n in range(5):
        width = rng.randrange(240, 520)
        draw.rectangle((290, 280 + n * 78, 290 + width, 312 + n * 78), fill=DARK)


SUBJECTS: dict[str, Callable[[ImageDraw.ImageDraw, random.Random], None]] = {
    "bare van": bare_van,
    "lined van": lined_van,
    "window": window,
    "carcass": carcass,
    "painted": painted,
    "kitchen": kitchen,
    "pipes": pipes,
    "gauge": gauge,
    "wiring": wiring,
    "plate": plate,
}
