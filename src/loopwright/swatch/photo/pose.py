"""How a camera stands over the table: from four corners of known size, and from what is known of cameras and hands.

In: corners in the picture (px) and on the table (mm), how sure a corner is. Out: the map from picture to table. Four
corners alone leave the map free to lean where it isn't held, so places beside a small reference come out unsure; a
camera of a usual focal length held about plumb leans less. What is known goes in as observations with a spread.
Assumed: the middle of the picture is on the axis of the lens; a picture cropped off its middle falls back on the
corners alone.
Source: least squares by Gauss and Newton on the six numbers of a pose and the focal length.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loopwright.swatch.photo.perspective import USUAL_FOCAL, Map, Points, homography

FOCAL_SPREAD = 0.4  # standard deviation of the logarithm of the focal length about the usual one, zoom included; prior
TILT_SPREAD = np.sin(np.radians(10.0))  # how far off the plumb line a hand holds a camera, each way; prior
ROUNDS = 8
SMALL = 0.5  # of the steps by which slopes are taken: a correction so small is the last
MOST_MISS_SD = 3.0  # corners that miss by more than so many of their spreads fit no camera
KNOWN = 3  # observations beside the corners: focal length, two tilts

Numbers = NDArray[np.float64]


def table_from_picture(
    corners_px: Points, table_mm: Points, size_px: tuple[int, int], sd_px: float, shift: Numbers | None = None
) -> Map:
    """The map from picture to table; `shift` moves what is known (in its own spreads) to see what hangs on it."""
    to_px = homography(table_mm, corners_px)
    free: Map = np.asarray(np.linalg.inv(to_px), np.float64)
    pose = _first_pose(to_px, size_px)
    known = np.zeros(KNOWN) if shift is None else shift
    for _ in range(ROUNDS):
        rest = _rest(pose, np.zeros(7), corners_px, table_mm, size_px, sd_px, known)
        slopes = np.column_stack(
            [
                (_rest(pose, step, corners_px, table_mm, size_px, sd_px, known) - rest) / step[index]
                for index, step in enumerate(np.diag(_steps(pose)))
            ]
        )
        step = -np.linalg.lstsq(slopes, rest, rcond=None)[0]
        pose = _moved(pose, step)
        if (np.abs(step) < SMALL * _steps(pose)).all():
            break
    rest = _rest(pose, np.zeros(7), corners_px, table_mm, size_px, sd_px, known)
    if not np.isfinite(rest).all() or float(np.sqrt(np.mean(rest[:8] ** 2))) > MOST_MISS_SD:
        return free
    to_mm = np.linalg.inv(_map(pose, size_px))
    held: Map = np.asarray(to_mm / to_mm[2, 2], np.float64)
    return held


Pose = tuple[Numbers, Numbers, float]  # turn 3 × 3, place (3,), logarithm of the focal length in longer sides


def _first_pose(to_px: Map, size_px: tuple[int, int]) -> Pose:
    pose = np.linalg.solve(_lens(np.log(USUAL_FOCAL), size_px), to_px)
    pose = pose / np.sqrt(np.linalg.norm(pose[:, 0]) * np.linalg.norm(pose[:, 1]))
    pose = pose if pose[2, 2] > 0 else -pose
    turn = np.column_stack([pose[:, 0], pose[:, 1], np.cross(pose[:, 0], pose[:, 1])])
    left, _, right = np.linalg.svd(turn)
    return left @ right, pose[:, 2], float(np.log(USUAL_FOCAL))


def _steps(pose: Pose) -> Numbers:
    """Small steps of turn, place and focal length."""
    far = float(np.linalg.norm(pose[1]))
    return np.array([1e-6, 1e-6, 1e-6, 1e-6 * far, 1e-6 * far, 1e-6 * far, 1e-6])


def _lens(log_focal: float, size_px: tuple[int, int]) -> Map:
    focal_px = float(np.exp(log_focal)) * max(size_px)
    return np.array([[focal_px, 0, (size_px[0] - 1) / 2], [0, focal_px, (size_px[1] - 1) / 2], [0, 0, 1.0]])


def _map(pose: Pose, size_px: tuple[int, int]) -> Map:
    turn, place, log_focal = pose
    return _lens(log_focal, size_px) @ np.column_stack([turn[:, 0], turn[:, 1], place])


def _moved(pose: Pose, step: Numbers) -> Pose:
    """The pose turned by a small vector, shifted, with another focal length."""
    turn, place, log_focal = pose
    angle = float(np.linalg.norm(step[:3]))
    if angle > 0:
        x, y, z = step[:3] / angle
        cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
        turn = (np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross) @ turn
    return turn, place + step[3:6], log_focal + float(step[6])


def _rest(
    pose: Pose,
    step: Numbers,
    corners_px: Points,
    table_mm: Points,
    size_px: tuple[int, int],
    sd_px: float,
    known: Numbers,
) -> Numbers:
    """How far the pose misses corners and what is known, in their spreads."""
    moved = _moved(pose, step)
    there = np.column_stack([table_mm, np.ones(len(table_mm))]) @ _map(moved, size_px).T
    off = (there[:, :2] / there[:, 2:] - corners_px) / sd_px
    lean = moved[0][2, :2] / TILT_SPREAD
    focal = (moved[2] - np.log(USUAL_FOCAL)) / FOCAL_SPREAD
    return np.concatenate([off.ravel(), np.array([focal, *lean]) - known])
