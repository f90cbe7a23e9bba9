import cv2
import numpy as np

from fitcheck.film.mean_picture import mean_picture

HEIGHT, WIDTH = 800, 600
RNG = np.random.default_rng(5)


def smooth(seed, shape=(HEIGHT, WIDTH)):
    rough = np.random.default_rng(seed).normal(size=shape).astype(np.float32)
    soft = cv2.GaussianBlur(rough, (0, 0), 4)
    return 140 + 15 * soft / soft.std()


ROOM, HER = smooth(1), smooth(2)
MASK = np.zeros((HEIGHT, WIDTH), bool)
MASK[60:760, 200:400] = True


def picture(at_head_px, noise=0.0, rng=RNG):
    """She leans to image right, by so many pixels at her head and nothing at her feet; a mark is drawn on the wall and one on her."""
    y, x = np.mgrid[:HEIGHT, :WIDTH].astype(np.float32)
    lean = at_head_px * np.clip((760 - y) / 700, 0, 1)
    her = cv2.remap(HER, x - lean.astype(np.float32), y, cv2.INTER_CUBIC)
    inside = (x - lean > 200) & (x - lean < 400) & MASK.any(axis=1)[:, None]
    grey = np.where(inside, her, ROOM) + rng.normal(0, noise, her.shape)
    cv2.circle(grey, (60, 200), 20, 10, -1)
    cv2.circle(grey, (round(300 + lean[200, 300]), 200), 20, 10, -1)
    return np.repeat(np.clip(grey, 0, 255).astype(np.uint8)[:, :, None], 3, axis=2)


def middle(rgb, near):
    x = np.mgrid[170:231, near - 40 : near + 41][1]
    dark = np.clip(60.0 - rgb[170:231, near - 40 : near + 41, 0], 0, None)
    return (x * dark).sum() / dark.sum()


def test_she_is_brought_to_where_she_stood_on_the_median_and_the_wall_stays():
    mean, sd_px = mean_picture([picture(lean) for lean in (0, 5, 10)], MASK)
    assert abs(middle(mean, 60) - 60) < 0.1
    assert abs(middle(mean, 304) - (300 + 5 * 0.8)) < 0.5  # 5 px at the head are 4 at this height
    assert sd_px < 0.3


def test_noise_averages():
    noisy = [picture(lean, 8.0) for lean in (0, 2, 4, 2, 0, 1, 3, 4)]
    clean = picture(2)
    part = np.s_[300:500, 230:370]
    error = [np.std(one[part].astype(float) - clean[part]) for one in (noisy[1], mean_picture(noisy, MASK)[0])]
    assert error[1] < 0.6 * error[0]


def test_a_picture_in_which_she_stepped_aside_is_left_out():
    mean, _ = mean_picture([picture(0), picture(0), picture(0), np.roll(picture(0), 60, axis=1)], MASK)
    assert np.abs(mean.astype(int) - picture(0)).mean() < 2


def test_one_picture_is_itself():
    one = picture(3)
    mean, sd_px = mean_picture([one], MASK)
    assert (mean == one).all()
    assert sd_px == 0
