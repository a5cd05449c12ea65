import type { ComponentChildren } from "preact";
import { useRef } from "preact/hooks";
import { palette_now } from "../colours";

export function save(name: string, data: Blob): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(data);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/** The drawing with its colours and type written into it, so that it stands outside the page. */
export function svg_text(drawing: SVGSVGElement): string {
  const copy = drawing.cloneNode(true) as SVGSVGElement;
  const originals = [drawing, ...drawing.querySelectorAll("*")],
    copies = [copy, ...copy.querySelectorAll("*")];
  const kept = [
    "fill",
    "stroke",
    "stroke-width",
    "stroke-dasharray",
    "font-family",
    "font-size",
    "font-weight",
    "text-anchor",
    "opacity",
  ];
  originals.forEach((element, i) => {
    const style = getComputedStyle(element),
      into = copies[i];
    for (const name of kept) {
      const value = style.getPropertyValue(name);
      if (value) into?.setAttribute(name, value);
    }
  });
  const box = drawing.viewBox.baseVal;
  const ground = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  for (const [name, value] of Object.entries({
    x: box.x,
    y: box.y,
    width: box.width,
    height: box.height,
    fill: palette_now().ground,
  }))
    ground.setAttribute(name, String(value));
  copy.insertBefore(ground, copy.firstChild);
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("width", String(box.width));
  copy.setAttribute("height", String(box.height));
  return new XMLSerializer().serializeToString(copy);
}

async function png_of(drawing: SVGSVGElement): Promise<Blob | null> {
  const picture = new Image();
  const url = URL.createObjectURL(new Blob([svg_text(drawing)], { type: "image/svg+xml" }));
  try {
    picture.src = url;
    await picture.decode();
    const canvas = document.createElement("canvas");
    canvas.width = picture.width * 2;
    canvas.height = picture.height * 2;
    canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
    return await new Promise((done) => canvas.toBlob(done, "image/png"));
  } finally {
    URL.revokeObjectURL(url);
  }
}

/** A picture with its heading, "save as", and a table of its numbers. */
export function Figure(props: {
  title: string;
  name: string;
  children: ComponentChildren;
  numbers?: ComponentChildren;
  note?: ComponentChildren;
}) {
  const holder = useRef<HTMLElement>(null);
  const drawing = () => holder.current?.querySelector<SVGSVGElement>("svg[role=img]") ?? null;
  const as_svg = () => {
    const svg = drawing();
    if (svg) save(`${props.name}.svg`, new Blob([svg_text(svg)], { type: "image/svg+xml" }));
  };
  const as_png = async () => {
    const svg = drawing(),
      png = svg && (await png_of(svg));
    if (png) save(`${props.name}.png`, png);
  };
  return (
    <section class="figure" ref={holder} aria-label={props.title}>
      <h3>{props.title}</h3>
      {props.children}
      {props.note && <p class="quiet">{props.note}</p>}
      <p class="tools">
        <button type="button" class="quiet" onClick={as_svg}>
          Save as SVG
        </button>
        <button type="button" class="quiet" onClick={as_png}>
          Save as PNG
        </button>
      </p>
      {props.numbers && (
        <details>
          <summary>The numbers of this picture</summary>
          {props.numbers}
        </details>
      )}
    </section>
  );
}
