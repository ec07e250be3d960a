"""A program that saves edits as fast as it can and says each one that was acknowledged, until it is killed."""

import sys

from loopwright.store.shelf import open_shelf
from loopwright.store.values import Edit


def main(url: str, item_id: int) -> None:
    shelf = open_shelf(url)
    version = shelf.load(item_id).version
    for pieces in range(1, 1_000_000):
        saved = shelf.change(item_id, [Edit(("order", "pieces"), pieces)], base_version=version, by="Mara")
        version = saved.item.version
        print(pieces, version, flush=True)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
