"""A program that keeps pictures as fast as it can and says the name of each, until it is killed."""

import io
import sys
from pathlib import Path

import numpy as np
from PIL import Image

from loopwright.store.photos import Photos


def main(folder: str) -> None:
    photos = Photos(Path(folder))
    rng = np.random.default_rng(7)
    while True:
        file = io.BytesIO()
        Image.fromarray(rng.integers(0, 256, (700, 700), dtype=np.uint8)).save(file, "PNG", compress_level=0)
        print(photos.keep(file.getvalue()), flush=True)


if __name__ == "__main__":
    main(sys.argv[1])
