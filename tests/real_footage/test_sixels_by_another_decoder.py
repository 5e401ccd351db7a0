"""Our sixels, read by the decoder of the npm package ``sixel``, which terminals in browsers use."""

import base64
import json
import subprocess
from pathlib import Path

import numpy as np
import pytest

from tests.real_footage.cache import FootageCache, Sample
from tests.real_footage.conftest import files_or_skip
from tests.real_footage.packages import Package, npm
from tests.tui.picture.rasters import random_picture
from tests.tui.picture.sixel_decoder import decoded
from tests.tui.picture.test_sixel import body, whole
from tui.picture.cells import Pixels

pytestmark = pytest.mark.proof

DECODER = Sample(
    Package("sixel@0.16.0", npm),
    ("package/dist/decode.umd.js",),
    "5100a4ec8866b351005e1027962bc2cd816495d7eeaa058d0f63bb3e675bc330",
)
"""The decoder in one file; it runs by Node, which is there wherever npm could fetch it."""

SCRIPT = """
globalThis.self = globalThis;
const { decode } = require(process.argv[1]);
const { width, height, data8 } = decode(require("fs").readFileSync(0));
const pixels = Buffer.from(data8).toString("base64");
process.stdout.write(JSON.stringify({ width, height, pixels }));
"""


@pytest.fixture(scope="module")
def decoder(footage_cache: FootageCache) -> Path:
    (script,) = files_or_skip(FootageCache(footage_cache.folder, [DECODER]), DECODER)
    return script


def read_elsewhere(decoder: Path, text: str) -> Pixels:
    """The picture that the other decoder makes of sixels; every pixel of it must be set."""
    command = ["node", "-e", SCRIPT, str(decoder)]
    ran = subprocess.run(command, input=text.encode(), capture_output=True, timeout=60, check=True)
    made = json.loads(ran.stdout)
    flat = np.frombuffer(base64.b64decode(made["pixels"]), np.uint8)
    pixels = flat.reshape(made["height"], made["width"], 4)
    assert (pixels[..., 3] == 255).all()
    return pixels[..., :3]


@pytest.mark.parametrize("shape", [(20, 80), (16, 64), (6, 1), (13, 7), (1, 300)])
def test_another_decoder_sees_the_same_picture_as_ours(
    shape: tuple[int, int], decoder: Path
) -> None:
    text = body(whole(random_picture(4, shape[1], shape[0]), 16))
    theirs, (ours, drawn) = read_elsewhere(decoder, text), decoded(text)
    assert drawn.all()
    assert theirs.shape == ours.shape == (*shape, 3)
    assert np.abs(theirs.astype(int) - ours).max() <= 1
