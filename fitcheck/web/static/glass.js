// The magnifier beside the finger: the photo around one place, enlarged, with what is being moved drawn in.

const TIMES = 4; // screen pixels to a pixel of the photo
const AWAY = 40;

/** A magnifier over one picture. */
export class Glass {
  /** @param {HTMLCanvasElement} canvas @param {HTMLImageElement} image */
  constructor(canvas, image) {
    this.canvas = canvas;
    this.image = image;
  }

  /**
   * @param {[number, number]} place in the photo
   * @param {{x: number, y: number}} finger on the screen
   * @param {[number, number][]} line drawn in, may be empty
   */
  show([x, y], finger, line) {
    const { canvas, image } = this;
    const size = canvas.width;
    const half = size / 2 / TIMES;
    const pen = canvas.getContext("2d");
    pen.imageSmoothingEnabled = false;
    pen.fillStyle = "#333";
    pen.fillRect(0, 0, size, size);
    pen.drawImage(image, x + 0.5 - half, y + 0.5 - half, 2 * half, 2 * half, 0, 0, size, size);
    if (line.length > 1) {
      pen.beginPath();
      for (const [px, py] of line) pen.lineTo((px - x + half) * TIMES, (py - y + half) * TIMES);
      pen.strokeStyle = "#0072b2cc";
      pen.lineWidth = 2;
      pen.stroke();
    }
    for (const [colour, width] of [["#fffc", 3], ["#d55e00", 1]]) {
      pen.beginPath();
      for (const [a, b, c, d] of [[0, 1, 0.42, 1], [0.58, 1, 1, 1]]) {
        pen.moveTo(half * 2 * TIMES * a, (size / 2) * b);
        pen.lineTo(half * 2 * TIMES * c, (size / 2) * d);
        pen.moveTo((size / 2) * b, size * a);
        pen.lineTo((size / 2) * d, size * c);
      }
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.stroke();
    }
    const left = finger.x - size - AWAY > 0 ? finger.x - size - AWAY : finger.x + AWAY;
    canvas.style.left = `${Math.min(Math.max(left, 4), innerWidth - size - 4)}px`;
    canvas.style.top = `${Math.min(Math.max(finger.y - size - AWAY / 2, 4), innerHeight - size - 4)}px`;
    canvas.hidden = false;
  }

  hide() {
    this.canvas.hidden = true;
  }
}
