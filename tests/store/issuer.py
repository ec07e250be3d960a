"""A program that issues as fast as it can and says each number that was acknowledged, until it is killed."""

import sys

from loopwright.store.shelf import open_shelf

FILES = bytes(range(256)) * 2000


def main(url: str, item_id: int) -> None:
    shelf = open_shelf(url)
    for number in range(1, 1_000_000):
        shelf.add_issue(
            item_id, number, version=1, record={"number": number, "pages": "x" * 200_000}, files=FILES, by="Mara"
        )
        print(number, flush=True)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
