"""Peers of the bleed bench, run by /usr/bin/python3: scipy and OpenCV on the same pictures, CPU time, one thread.

fill W H PICTURE SOURCE TARGET FROM   nearest fill by both, and our source indices against a k-d tree
paint W H PICTURE SOURCE TARGET OUT   mirroring and two inpaintings of an RGB picture: OUT.mirror, OUT.telea, OUT.ns
photos FOLDER                         photographs that scipy and scikit-image bring, as raw RGB
Masks are one byte a pixel. Answers on standard output as JSON.
"""
import json
import sys
import time
import warnings

import numpy as np

warnings.simplefilter("ignore")


def median(job, times=5):
    took = []
    for _ in range(times):
        start = time.process_time()
        job()
        took.append(time.process_time() - start)
    return sorted(took)[times // 2] * 1000


def masks(width, height, source, target):
    read = lambda path: np.fromfile(path, np.uint8).reshape(height, width).astype(bool)
    return read(source), read(target)


def fill(width, height, picture, source, target, ours):
    import cv2
    import scipy.ndimage
    import scipy.spatial

    cv2.setNumThreads(1)
    image = np.fromfile(picture, np.uint8).reshape(height, width, 4)
    s, t = masks(width, height, source, target)
    outside = ~s
    zero = outside.astype(np.uint8)

    def by_scipy():
        i = scipy.ndimage.distance_transform_edt(outside, return_distances=False, return_indices=True)
        out = image.copy()
        out[t] = image[i[0][t], i[1][t]]

    def by_labels():
        _, label = cv2.distanceTransformWithLabels(zero, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL)
        # Labels count the zero pixels row by row from 1.
        place = np.concatenate(([0], np.flatnonzero(s)))
        out = image.copy()
        out[t] = image.reshape(-1, 4)[place[label[t]]]

    edge = s & ~scipy.ndimage.binary_erosion(s, border_value=0)
    ys, xs = np.nonzero(edge)
    ty, tx = np.nonzero(t)
    best, _ = scipy.spatial.cKDTree(np.column_stack((xs, ys))).query(np.column_stack((tx, ty)))
    got = np.fromfile(ours, np.int32)
    gy, gx = np.divmod(got, width)
    exact = (np.rint(best * best) == (gx - tx) ** 2 + (gy - ty) ** 2) & s[gy, gx]
    return {"scipy": median(by_scipy), "labels": median(by_labels), "pixels": int(t.sum()), "exact": int(exact.sum())}


def paint(width, height, picture, source, target, out):
    import cv2
    import scipy.ndimage

    cv2.setNumThreads(1)
    image = np.fromfile(picture, np.uint8).reshape(height, width, 3)
    s, t = masks(width, height, source, target)
    near = scipy.ndimage.distance_transform_edt(~s, return_distances=False, return_indices=True)
    ys, xs = np.indices(s.shape)
    my = np.clip(2 * near[0] - ys, 0, height - 1)
    mx = np.clip(2 * near[1] - xs, 0, width - 1)
    # A mirrored place outside the piece (thin parts) takes the nearest pixel instead.
    lost = ~s[my, mx]
    my[lost], mx[lost] = near[0][lost], near[1][lost]
    mirror = image.copy()
    mirror[t] = image[my[t], mx[t]]
    mirror.tofile(out + ".mirror")
    hole = (~s).astype(np.uint8)
    for name, how in (("telea", cv2.INPAINT_TELEA), ("ns", cv2.INPAINT_NS)):
        cv2.inpaint(image, hole, 3, how).tofile(f"{out}.{name}")
    return {}


def photos(folder):
    """Photographs as squares of 512 pixels: at 300 ppi as they are, at 200 and 128 ppi fewer pixels of them enlarged.

    Eight: two that scipy brings, six that scikit-image brings (Debian: python3-skimage; all everyday photographs it has, no
    micrographs or textures). What is too small for a resolution is left out of it.
    """
    import os

    import cv2
    import scipy.misc

    pictures = [scipy.misc.face(), np.repeat(scipy.misc.ascent()[:, :, None], 3, 2)]
    data = "/usr/lib/python3/dist-packages/skimage/data"
    for name in ("astronaut.png", "camera.png", "chelsea.png", "coffee.png", "motorcycle_left.png", "rocket.jpg"):
        if os.path.exists(f"{data}/{name}"):
            pictures.append(cv2.imread(f"{data}/{name}", cv2.IMREAD_COLOR)[:, :, ::-1])
    written = []
    for n, picture in enumerate(pictures):
        high, wide = picture.shape[:2]
        for ppi in (300, 200, 128):
            side = round(512 * ppi / 300)
            if side > min(high, wide):
                continue
            top, left = (high - side) // 2, (wide - side) // 2
            small = np.ascontiguousarray(picture[top : top + side, left : left + side], np.uint8)
            cv2.resize(small, (512, 512), interpolation=cv2.INTER_LANCZOS4).tofile(f"{folder}/{ppi}-{n}")
            written.append([ppi, n])
    return {"written": written, "side": 512}


if __name__ == "__main__":
    command, *rest = sys.argv[1:]
    if command == "photos":
        answer = photos(*rest)
    else:
        answer = {"fill": fill, "paint": paint}[command](int(rest[0]), int(rest[1]), *rest[2:])
    print(json.dumps(answer))
