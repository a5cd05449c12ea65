"""Photographs of plates that were never there, with the offset of their hole known: a pinhole camera over a plane,
written from the optics and not from the program that reads them.

Lengths in millimetres, y upwards; the offset is from the hole to the groove's centre.
"""

import struct
import zlib
from dataclasses import dataclass, field

import numpy as np
from scipy.fft import dctn, idctn
from scipy.ndimage import gaussian_filter

# ITU-T T.81, annex K, table K.1: luminance quantisation at quality 50.
QUANTA = np.array([16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56,
                   14, 17, 22, 29, 51, 87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92,
                   49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99]).reshape(8, 8)


def as_jpeg_leaves_it(grey, quality):
    """The picture after JPEG's coarse cosines, 8 x 8 at a time."""
    scale = 5000 / quality if quality < 50 else 200 - 2 * quality
    quanta = np.maximum(np.floor((QUANTA * scale + 50) / 100), 1)
    height, width = (side // 8 * 8 for side in grey.shape)
    blocks = grey[:height, :width].reshape(height // 8, 8, width // 8, 8).transpose(0, 2, 1, 3) - 128.0
    kept = np.rint(dctn(blocks, axes=(2, 3), norm="ortho") / quanta) * quanta
    out = grey.astype(float)
    out[:height, :width] = (idctn(kept, axes=(2, 3), norm="ortho") + 128).transpose(0, 2, 1, 3).reshape(height, width)
    return out


def png(grey):
    """An 8 bit grey PNG file's bytes."""
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    height, width = grey.shape
    rows = b"".join(b"\0" + row.tobytes() for row in grey)
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
            + chunk(b"IDAT", zlib.compress(rows, 1)) + chunk(b"IEND", b""))


@dataclass
class Scene:
    seed: int = 1
    size_px: tuple = (1400, 1400)
    scale_px_per_mm: float = 4.4
    offset_mm: tuple = (0.12, -0.05)
    hole_mm: float = 7.24
    grooves_mm: tuple = (106.4, 292.6)   # the locked groove, a line; the outermost, where the band begins
    disc_mm: float = 301.0
    label_mm: float = 100.0
    tilt_deg: float = 0.0
    tilt_axis_deg: float = 0.0
    distance_mm: float = 900.0
    middle_px: tuple = (0.0, 0.0)        # of the plate from the picture's middle
    ground: float = 60.0                 # grey levels
    plate: float = 150.0
    band: float = 120.0
    label: float = 190.0
    line: float = -60.0                  # the locked groove's over the plate
    line_mm: float = 0.35
    hole: float = 60.0
    fan: float = 0.0                     # of light on the grooves, over the band's grey
    fan_deg: float = 30.0
    gradient: float = 0.0                # of the light across the picture, share
    glare: float = 0.0                   # grey levels of a spot, clipped at white
    glare_at_px: tuple = (300.0, 250.0)
    blur_px: float = 1.0
    noise: float = 2.0
    dust: int = 0
    jpeg: int = 0                        # quality of a JPEG it has been through; 0: none
    texture: float = 4.0                 # grey levels of the grooves' own grain
    extra: dict = field(default_factory=dict)

    def rays(self, over):
        """The plane's x, y under each point of the picture."""
        width, height = self.size_px
        x = (np.arange(width * over) + 0.5) / over - 0.5 - (width - 1) / 2 - self.middle_px[0]
        y = (np.arange(height * over) + 0.5) / over - 0.5 - (height - 1) / 2 - self.middle_px[1]
        u, v = np.meshgrid(x, -y)
        focal = self.scale_px_per_mm * self.distance_mm
        a, t = np.radians(self.tilt_axis_deg), np.radians(self.tilt_deg)
        # Along the tilt's axis nothing changes; across it the plane runs away from the camera.
        along, across = u * np.cos(a) + v * np.sin(a), -u * np.sin(a) + v * np.cos(a)
        q = self.distance_mm * across / (focal * np.cos(t) - across * np.sin(t))
        p = along * (self.distance_mm + q * np.sin(t)) / focal
        return p * np.cos(a) - q * np.sin(a), p * np.sin(a) + q * np.cos(a)

    def render(self):
        rng = np.random.default_rng(self.seed)
        over = 2
        x, y = self.rays(over)
        x, y = x.astype(np.float32), y.astype(np.float32)
        r = np.hypot(x, y)
        angle = np.arctan2(y, x)
        locked, outer = self.grooves_mm[0] / 2, self.grooves_mm[-1] / 2
        grey = np.full(r.shape, self.ground, np.float32)
        # The disc's own edge and the label are round about centres of their own.
        edge = np.hypot(x - self.extra.get("edge_x", 0.15), y - self.extra.get("edge_y", -0.2))
        grey[edge < self.disc_mm / 2] = self.plate
        grain = self.texture * np.sin(2 * np.pi * r / 0.9 + 3 * np.sin(r / 7)) + self.texture * np.sin(r * 1.7)
        light = self.fan * np.exp(25 * (np.cos(2 * (angle - np.radians(self.fan_deg))) - 1))
        band = (r < outer) & (r > locked + self.extra.get("dead_mm", 6.0))
        grey = np.where(band, self.band + grain + light, grey)
        grey = np.where(np.abs(r - locked) < self.line_mm / 2, self.plate + self.line, grey)
        if self.label_mm:
            grey[np.hypot(x - self.extra.get("label_x", 0.3), y - 0.1) < self.label_mm / 2] = self.label
            # Print on the label: bars that are no circles.
            for k in range(self.extra.get("bars", 6)):
                a = rng.uniform(0, 2 * np.pi)
                px, py = 25 * np.cos(a), 25 * np.sin(a)
                grey[(np.abs(x - px) < rng.uniform(4, 12)) & (np.abs(y - py) < 1.0)] = self.label - 110
        hx, hy = -self.offset_mm[0], -self.offset_mm[1]
        grey[np.hypot(x - hx, y - hy) < self.hole_mm / 2] = self.hole
        height, width = self.size_px[1], self.size_px[0]
        grey = grey.reshape(height, over, width, over).mean(axis=(1, 3))
        for _ in range(self.dust):
            px, py, size = rng.uniform(0, width), rng.uniform(0, height), rng.uniform(0.5, 4)
            x0, x1 = int(max(px - 12, 0)), int(min(px + 12, width))
            y0, y1 = int(max(py - 12, 0)), int(min(py + 12, height))
            yy, xx = np.mgrid[y0:y1, x0:x1]
            grey[y0:y1, x0:x1] += rng.choice([-70, 80]) * (np.hypot(xx - px, (yy - py) * rng.uniform(0.3, 3)) < size)
        yy, xx = np.mgrid[0:height, 0:width]
        grey *= 1 + self.gradient * ((xx / width - 0.5) * np.cos(0.7) + (yy / height - 0.5) * np.sin(0.7))
        if self.glare:
            far = np.hypot(xx - self.glare_at_px[0], yy - self.glare_at_px[1])
            grey += self.glare * np.exp(-0.5 * (far / (0.12 * width)) ** 2)
        grey = gaussian_filter(grey, self.blur_px) if self.blur_px else grey
        grey = grey + rng.normal(0, 1, grey.shape) * self.noise * np.sqrt(np.maximum(grey, 5) / 128)
        grey = np.clip(np.rint(grey), 0, 255)
        if self.jpeg:
            grey = np.clip(np.rint(as_jpeg_leaves_it(grey, self.jpeg)), 0, 255)
        return grey.astype(np.uint8)

    def save(self, path):
        with open(path, "wb") as file:
            file.write(png(self.render()))


def drawn_at_random(seed):
    """A plate, a camera and a light as they may be: dark on light or light on dark, blurred, tilted, dusty, cropped."""
    rng = np.random.default_rng(seed)
    wide = int(rng.integers(900, 1700))
    levels = rng.choice(["dark", "metal", "contrary"])
    ground, plate, band, label, hole = {"dark": (200, 60, 35, 170, 205), "metal": (40, 190, 150, 205, 30),
                                        "contrary": (120, 90, 140, 60, 230)}[levels]
    scale = wide / rng.uniform(290, 400)
    tilt = float(rng.choice([0, rng.uniform(0, 1), rng.uniform(1, 4)]))
    jitter = lambda value: float(value + rng.uniform(-12, 12))
    return Scene(
        seed=seed, size_px=(wide, int(wide * rng.uniform(0.85, 1.15))), scale_px_per_mm=scale,
        offset_mm=tuple(rng.uniform(-0.5, 0.5, 2)), hole_mm=float(rng.choice([7.24, 7.24, 20.0, 38.2])),
        tilt_deg=tilt, tilt_axis_deg=float(rng.uniform(0, 360)), distance_mm=float(rng.uniform(450, 2000)),
        middle_px=tuple(rng.uniform(-0.04, 0.04, 2) * wide), ground=jitter(ground), plate=jitter(plate), band=jitter(band),
        label=jitter(label), hole=jitter(hole), line=float(rng.choice([-1, 1]) * rng.uniform(40, 90)),
        line_mm=float(rng.uniform(0.25, 0.8)), fan=float(rng.choice([0, rng.uniform(20, 120)])),
        fan_deg=float(rng.uniform(0, 180)), gradient=float(rng.uniform(-0.6, 0.6)),
        glare=float(rng.choice([0, rng.uniform(30, 160)])), glare_at_px=tuple(rng.uniform(0.1, 0.9, 2) * wide),
        blur_px=float(rng.uniform(0.4, 2.5)), noise=float(rng.uniform(0.5, 8)), dust=int(rng.integers(0, 200)),
        jpeg=int(rng.choice([0, 0, 60, 85, 95])), texture=float(rng.uniform(0, 8)), label_mm=float(rng.choice([0, 85, 100])))
