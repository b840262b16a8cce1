// A wall of the drawing: a line that nothing passes, hatched on its far side.

export function wall(ctx, left, right, y, depth, colour, ratio) {
  ctx.save();
  ctx.strokeStyle = colour;
  ctx.lineWidth = 2 * ratio;
  ctx.beginPath();
  ctx.moveTo(left, y);
  ctx.lineTo(right, y);
  ctx.stroke();
  ctx.beginPath();
  ctx.rect(left, y - depth, right - left, depth);
  ctx.clip();
  ctx.lineWidth = 1.5 * ratio;
  ctx.beginPath();
  for (let x = left - depth; x < right + depth; x += 10 * ratio) {
    ctx.moveTo(x, y);
    ctx.lineTo(x + depth, y - depth);
  }
  ctx.stroke();
  ctx.restore();
}
