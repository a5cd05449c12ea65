/** What the portrait is drawn with: a canvas on the screen, or an SvgPen for a file. */
export type Pen = Pick<
  CanvasRenderingContext2D,
  "fillStyle" | "strokeStyle" | "lineWidth" | "lineJoin" | "font" | "textAlign" | "textBaseline" | "clearRect" | "beginPath" | "closePath" | "moveTo" |
  "lineTo" | "arc" | "rect" | "fill" | "stroke" | "fillRect" | "clip" | "save" | "restore" | "translate" | "rotate" | "fillText" | "measureText">;

const short = (value: number) => String(Math.round(value * 100) / 100);
const escaped = (text: string) => text.replaceAll("&", "&amp;").replaceAll("<", "&lt;");

interface State {
  turned: string;
  clip: string;
}

/** Writes what is drawn as SVG. `measure` is a canvas's, since a file has no type to measure. */
export class SvgPen implements Pen {
  fillStyle: CanvasRenderingContext2D["fillStyle"] = "#000";
  strokeStyle: CanvasRenderingContext2D["strokeStyle"] = "#000";
  lineWidth = 1;
  lineJoin: CanvasLineJoin = "miter";
  font = "13px sans-serif";
  textAlign: CanvasTextAlign = "left";
  textBaseline: CanvasTextBaseline = "alphabetic";
  private path = "";
  private begun = false;
  private state: State = { turned: "", clip: "" };
  private readonly states: State[] = [];
  private readonly shapes: string[] = [];
  private clips = 0;

  constructor(private readonly width: number, private readonly height: number, private readonly ground: string, private readonly measure: (font: string, text: string) => TextMetrics) {}

  clearRect(): void {}
  beginPath(): void {
    this.path = "";
    this.begun = false;
  }
  closePath(): void {
    this.path += "Z";
  }
  moveTo(x: number, y: number): void {
    this.path += `M${short(x)} ${short(y)}`;
    this.begun = true;
  }
  lineTo(x: number, y: number): void {
    this.path += `${this.begun ? "L" : "M"}${short(x)} ${short(y)}`;
    this.begun = true;
  }
  rect(x: number, y: number, width: number, height: number): void {
    this.path += `M${short(x)} ${short(y)}h${short(width)}v${short(height)}h${short(-width)}Z`;
    this.begun = true;
  }
  /** As a canvas: the way runs from `from` to `to`, a whole turn or more being a circle; SVG wants that in two halves. */
  arc(x: number, y: number, radius: number, from: number, to: number, back = false): void {
    const at = (angle: number) => `${short(x + radius * Math.cos(angle))} ${short(y + radius * Math.sin(angle))}`;
    const whole = 2 * Math.PI, r = short(radius), sweep = back ? 0 : 1;
    let span = back ? from - to : to - from;
    this.path += `${this.begun ? "L" : "M"}${at(from)}`;
    this.begun = true;
    if (span >= whole) {
      const half = from + (back ? -Math.PI : Math.PI);
      this.path += `A${r} ${r} 0 1 ${sweep} ${at(half)}A${r} ${r} 0 1 ${sweep} ${at(from)}`;
      return;
    }
    span = ((span % whole) + whole) % whole;
    this.path += `A${r} ${r} 0 ${span > Math.PI ? 1 : 0} ${sweep} ${at(to)}`;
  }
  private shape(attributes: string): void {
    const where = `${this.state.turned ? ` transform="${this.state.turned}"` : ""}`;
    const shape = `<path d="${this.path}"${where} ${attributes}/>`;
    this.shapes.push(this.state.clip ? `<g clip-path="url(#${this.state.clip})">${shape}</g>` : shape);
  }
  fill(): void {
    this.shape(`fill="${this.fillStyle}"`);
  }
  stroke(): void {
    this.shape(`fill="none" stroke="${this.strokeStyle}" stroke-width="${short(this.lineWidth)}" stroke-linejoin="${this.lineJoin}"`);
  }
  fillRect(x: number, y: number, width: number, height: number): void {
    const before = this.path;
    this.path = `M${short(x)} ${short(y)}h${short(width)}v${short(height)}h${short(-width)}Z`;
    this.fill();
    this.path = before;
  }
  clip(): void {
    const name = `clip${++this.clips}`;
    this.shapes.push(`<clipPath id="${name}"><path d="${this.path}"/></clipPath>`);
    this.state = { ...this.state, clip: name };
  }
  save(): void {
    this.states.push(this.state);
  }
  restore(): void {
    this.state = this.states.pop() ?? this.state;
  }
  translate(x: number, y: number): void {
    this.state = { ...this.state, turned: `${this.state.turned}translate(${short(x)} ${short(y)})` };
  }
  rotate(angle: number): void {
    this.state = { ...this.state, turned: `${this.state.turned}rotate(${short((angle * 180) / Math.PI)})` };
  }
  measureText(text: string): TextMetrics {
    return this.measure(this.font, text);
  }
  fillText(text: string, x: number, y: number): void {
    const size = Number(/([\d.]+)px/.exec(this.font)?.[1] ?? 13), bold = this.font.startsWith("600") ? ' font-weight="600"' : "";
    const anchor = { center: "middle", right: "end", end: "end", left: "start", start: "start" }[this.textAlign];
    // A line's middle lies 0.35 of its size above its foot; what hangs from the top, 0.8 under it.
    const down = this.textBaseline === "middle" ? 0.35 * size : this.textBaseline === "top" ? 0.8 * size : this.textBaseline === "bottom" ? -0.2 * size : 0;
    this.shapes.push(`<text x="${short(x)}" y="${short(y + down)}" font-size="${size}"${bold} text-anchor="${anchor}" fill="${this.fillStyle}">${escaped(text)}</text>`);
  }

  text(title: string): string {
    const box = `viewBox="0 0 ${short(this.width)} ${short(this.height)}" width="${short(this.width)}" height="${short(this.height)}"`;
    return `<svg xmlns="http://www.w3.org/2000/svg" ${box} font-family="system-ui, sans-serif"><title>${escaped(title)}</title>` +
      `<rect width="100%" height="100%" fill="${this.ground}"/>${this.shapes.join("")}</svg>\n`;
  }
}
