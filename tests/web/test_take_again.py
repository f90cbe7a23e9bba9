"""A new fitting's page: which view should be taken again is said before anything is checked."""

import cv2
import numpy as np
from playwright.sync_api import expect
from web.before_camera import photo
from web.opened import CHECKED_MS, SAMPLES


def test_which_view_to_take_again_and_why(page, server, tmp_path):
    """The front's card is painted over; the right side is as it should be."""
    picture = photo("front")
    corners, _, _ = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)).detectMarkers(picture)
    for quad in corners:
        cv2.fillConvexPoly(picture, cv2.convexHull(quad.reshape(4, 2)).astype(np.int32), (160, 160, 160))
    cv2.imwrite(str(tmp_path / "front.jpg"), picture, [cv2.IMWRITE_JPEG_QUALITY, 93])
    page.goto(server.base)
    page.locator("main").get_by_role("button", name="New fitting", exact=True).click()
    page.wait_for_url("**/fitting/*")
    page.set_input_files("#files", [tmp_path / "front.jpg", SAMPLES / "forward_shoulder" / "right.jpg"])
    expect(page.locator("#list img")).to_have_count(2, timeout=CHECKED_MS)
    expect(page.locator("#told")).to_have_text(
        "Still missing: back, left. You can also check without. Better taken again, as told beside it: your front."
    )
    expect(page.locator("#list .doubts:visible")).to_have_count(1)
    expect(page.locator("#list .doubts:visible")).to_contain_text("Neither the scale card nor both floor sheets are seen")
