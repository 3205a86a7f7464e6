// Signature pad: a path of M and L with whole numbers in a box of 1000 by 300, in a hidden input.

const W = 1000, H = 300, NEAR = 4, LONGEST = 60000;

/** start makes a pad of the canvas in an element with data-sign. */
export function start(root) {
  const canvas = root.querySelector("[data-sign-pad]"), out = root.querySelector("input[name=signature]"), paper = root.querySelector("[data-sign-paper]");
  const pen = canvas.getContext("2d");
  let lines = [], line = null;

  const draw = () => {
    pen.clearRect(0, 0, W, H);
    pen.strokeStyle = "#17232a";
    pen.lineWidth = 5;
    pen.lineCap = pen.lineJoin = "round";
    for (const l of lines) {
      pen.beginPath();
      pen.moveTo(...l[0]);
      for (const p of l.length > 1 ? l.slice(1) : [[l[0][0] + 0.1, l[0][1]]]) pen.lineTo(...p);
      pen.stroke();
    }
  };
  const keep = () => {
    out.value = lines.map((l) => l.map(([x, y], i) => `${i ? "L" : "M"}${x} ${y}`).join("") + (l.length === 1 ? `L${l[0][0]} ${l[0][1]}` : "")).join("");
    out.dispatchEvent(new Event("change", { bubbles: true }));
  };
  const at = (ev) => {
    const r = canvas.getBoundingClientRect();
    const clamp = (v, most) => Math.max(0, Math.min(most, Math.round(v)));
    return [clamp(((ev.clientX - r.left) / r.width) * W, W), clamp(((ev.clientY - r.top) / r.height) * H, H)];
  };

  canvas.addEventListener("pointerdown", (ev) => {
    if (!ev.isPrimary || ev.button !== 0 || paper?.checked) return;
    ev.preventDefault();
    canvas.setPointerCapture(ev.pointerId);
    line = [at(ev)];
    lines.push(line);
    draw();
  });
  canvas.addEventListener("pointermove", (ev) => {
    if (!line || !ev.isPrimary || out.value.length > LONGEST) return;
    for (const e of ev.getCoalescedEvents?.() ?? [ev]) {
      const p = at(e), last = line[line.length - 1];
      if (Math.hypot(p[0] - last[0], p[1] - last[1]) >= NEAR) line.push(p);
    }
    draw();
  });
  for (const over of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(over, () => {
      if (!line) return;
      line = null;
      keep();
    });
  }
  const clear = () => {
    lines = [];
    draw();
    keep();
  };
  root.querySelector("[data-sign-clear]")?.addEventListener("click", clear);
  paper?.addEventListener("change", () => {
    root.classList.toggle("off", paper.checked);
    if (paper.checked) clear();
  });
}
