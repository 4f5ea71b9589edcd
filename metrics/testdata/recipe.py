#!/usr/bin/python3
"""What a general-purpose library's standard recipe makes of stereo pairs.

SIFT with the ratio test, USAC_MAGSAC for the fundamental matrix to tell what
agrees, and least squares of the linear model of a nearly parallel rig over that:

    y' - y = offset + roll x' + zoom y + keystone x'y + tilt y y' + height p + forward y p

with p = x' - x, in picture heights from the picture's centre. One thread.

    recipe.py LEFT RIGHT RESULT [LEFT RIGHT RESULT ...]

reads pictures as grey and writes each result as JSON: the coefficients by name
(none when there are too few matches), how many matches there were and agreed,
and the processor seconds that it took, without reading the pictures.
"""

import json
import os
import sys
import time

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[threads] = "1"

import cv2  # Debian's python3-opencv
import numpy as np

TERMS = ("offset", "roll", "zoom", "keystone", "tilt", "height", "forward")
RATIO = 0.75  # of D. Lowe's ratio test, 0.7 to 0.8 in common use
THRESHOLD = 1.0  # pixels; the library's documentation advises 1 to 3


def matched(left, right):
    sift = cv2.SIFT_create()
    left_points, left_features = sift.detectAndCompute(left, None)
    right_points, right_features = sift.detectAndCompute(right, None)
    if left_features is None or right_features is None:
        return np.empty((0, 4))
    pairs = cv2.BFMatcher().knnMatch(left_features, right_features, k=2)
    return np.array([
        left_points[p[0].queryIdx].pt + right_points[p[0].trainIdx].pt
        for p in pairs if len(p) == 2 and p[0].distance < RATIO * p[1].distance
    ]).reshape(-1, 4)


def measure(left, right):
    matches = matched(left, right)
    if len(matches) < 15:
        return {"matches": len(matches)}
    cv2.setRNGSeed(1)
    _, agree = cv2.findFundamentalMat(
        matches[:, :2], matches[:, 2:], cv2.USAC_MAGSAC, THRESHOLD, 0.999, 10000)
    if agree is None:
        return {"matches": len(matches)}
    agreeing = matches[agree.ravel() > 0]
    if len(agreeing) < 15:
        return {"matches": len(matches), "agree": len(agreeing)}
    height, width = left.shape
    centre = np.array([width - 1, height - 1, width - 1, height - 1]) / 2
    x, y, xr, yr = ((agreeing - centre) / height).T
    p = xr - x
    factors = np.stack([np.ones_like(x), xr, y, xr * y, y * yr, p, y * p], axis=1)
    terms = np.linalg.lstsq(factors, yr - y, rcond=None)[0]
    return {"matches": len(matches), "agree": len(agreeing), "terms": dict(zip(TERMS, terms))}


def main(paths):
    cv2.setNumThreads(1)
    warm = False
    for left_path, right_path, result_path in zip(paths[::3], paths[1::3], paths[2::3]):
        left = cv2.imread(left_path, cv2.IMREAD_GRAYSCALE)
        right = cv2.imread(right_path, cv2.IMREAD_GRAYSCALE)
        if not warm:
            measure(left, right)  # what is only done once is no cost of a pair
            warm = True
        start = time.process_time()
        result = measure(left, right)
        result["cpu"] = time.process_time() - start
        with open(result_path, "w") as out:
            json.dump(result, out)


main(sys.argv[1:])
