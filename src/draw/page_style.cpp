#include "draw/page_style.hpp"

#include <fmt/format.h>

#include <cmath>

#include "draw/colour.hpp"

namespace goodside::draw {
namespace {

std::string hex(Colour c) {
  const auto byte = [](double channel) { return static_cast<int>(std::lround(channel * 255.0)); };
  return fmt::format("#{:02X}{:02X}{:02X}", byte(c.red), byte(c.green), byte(c.blue));
}

std::string variables(const Palette& p) {
  return fmt::format(
      "--ground:{};--raised:{};--line:{};--ink:{};--quiet:{};--copper:{};--good:{};--out:{}",
      hex(p.ground),
      hex(p.raised),
      hex(p.line),
      hex(p.ink),
      hex(p.quiet_ink),
      hex(p.copper),
      hex(p.good),
      hex(p.out));
}

constexpr const char* rules = R"(
*{box-sizing:border-box}
body{margin:0;background:var(--ground);color:var(--ink);font:16px/1.45 system-ui,sans-serif;font-variant-numeric:tabular-nums}
main{max-width:80rem;margin:0 auto;padding:1.2rem 1.2rem 3rem}
h1{font-size:2rem;line-height:1.2;margin:0 0 .3rem;display:flex;gap:.7rem;align-items:center}
h1 svg{width:1.9rem;height:1.9rem;flex:none}
h2{font-size:1.25rem;margin:2.2rem 0 .6rem;padding-top:.7rem;border-top:2px solid var(--ink)}
h3{font-size:1rem;margin:0 0 .4rem}
p{margin:.3rem 0;max-width:52rem}
.good{color:var(--good)}.out{color:var(--out)}
.quiet{color:var(--quiet);overflow-wrap:anywhere}
.next{border-left:6px solid var(--copper);background:var(--raised);padding:.6rem .9rem;margin:.9rem 0;max-width:52rem}
ul{margin:.5rem 0;padding-left:1.3rem;max-width:52rem}
.picture{overflow-x:auto;border:1px solid var(--line)}
img{display:block;width:100%;min-width:44rem;height:auto}
.scroll{overflow-x:auto;background:var(--raised);border:1px solid var(--line);margin:.5rem 0}
.scroll:focus-visible,.picture:focus-visible,summary:focus-visible,audio:focus-visible{outline:3px solid var(--copper);outline-offset:2px}
table{border-collapse:collapse;width:100%;font-size:.9rem}
caption{text-align:left;padding:.4rem .6rem;color:var(--quiet)}
th,td{padding:.22rem .42rem;text-align:right;white-space:nowrap;border-top:1px solid var(--line)}
th{color:var(--quiet);font-weight:600}
td.words,th.words{text-align:left}
td.words:last-child{white-space:normal}
summary{cursor:pointer;padding:.45rem 0;color:var(--copper);text-decoration:underline}
.sound{background:var(--raised);border:1px solid var(--line);padding:.7rem .9rem;margin:.6rem 0;break-inside:avoid}
.players{display:flex;flex-wrap:wrap;gap:.5rem 1.2rem}
.players div{flex:1 1 15rem}
.players span{display:block;color:var(--quiet)}
audio{width:100%}
@media print{
main{max-width:none;padding:0}
body{font-size:10.5pt}
h2{margin-top:1.2rem}
h2,.next,.picture,tr{break-inside:avoid}
h2{break-after:avoid}
details:not([open]),.screen{display:none}
.scroll,.picture{overflow:visible}
.scroll{border:0}
img{min-width:0}
table{font-size:7.5pt}
th,td{padding:1pt 3pt}
}
@page{margin:12mm}
)";

}  // namespace

std::string page_style() {
  return fmt::format(
      ":root{{color-scheme:light dark;{}}}\n"
      "@media screen and (prefers-color-scheme:dark){{:root{{{}}}}}\n"
      "@media print{{:root{{--ground:#FFFFFF}}}}{}",
      variables(light_palette),
      variables(dark_palette),
      rules);
}

std::string page_script() {
  return "document.addEventListener('play',function(e){document.querySelectorAll('audio').forEach("
         "function(a){if(a!==e.target)a.pause()})},true)";
}

}  // namespace goodside::draw
