#!/usr/bin/python3
"""Where the inner corners of a chessboard are in both pictures of stereo pairs.

    corners.py COLUMNS ROWS LEFT RIGHT [LEFT RIGHT ...]

writes a JSON list with, for each pair, a list of [x, y, x', y'] in pixels, in the
same order of corners for both eyes; empty where the board is not found in both.
"""

import json
import sys

import cv2  # Debian's python3-opencv

FINE = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 40, 0.001)


def corners(path, size):
    picture = cv2.imread(path, cv2.IMREAD_GRAYSCALE)
    found, places = cv2.findChessboardCorners(picture, size)
    if not found:
        return None
    return cv2.cornerSubPix(picture, places, (5, 5), (-1, -1), FINE).reshape(-1, 2)


def main(columns, rows, *paths):
    size = int(columns), int(rows)
    pairs = []
    for left_path, right_path in zip(paths[::2], paths[1::2]):
        left, right = corners(left_path, size), corners(right_path, size)
        if left is None or right is None:
            pairs.append([])
            continue
        pairs.append([[float(v) for v in (*l, *r)] for l, r in zip(left, right)])
    json.dump(pairs, sys.stdout)


main(*sys.argv[1:])
