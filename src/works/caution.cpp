#include "works/caution.hpp"

#include <array>
#include <string_view>

namespace goodside::works {

std::string caution(Station station) {
  constexpr std::array<std::string_view, 7> hazards{
      "Nitrocellulose swarf burns fiercely: wet bin, no ignition. Silver nitrate oxidises and "
      "stains. "
      "Ammoniacal silver may become explosive on standing: make it fresh, never store it, discard "
      "it the same "
      "day.",
      "Nickel salts can cause cancer when breathed in and make the skin allergic; chromium(VI) "
      "causes cancer "
      "and burns. Extraction, gloves, eye wash, no eating. High direct currents burn; hydrogen: "
      "ventilate. Edges "
      "of foil cut: cut-resistant gloves, blunt separators.",
      "Solder and flux: extraction, lead hygiene, dry parts, since moisture spatters hot metal. "
      "Punch and "
      "trimming press pinch and throw slugs: two-hand control, guards on. Edges of foil cut.",
      "Dust of fillers, flock and stearate can explode and harms the lungs: extraction, bonding, "
      "no "
      "compressed air, breathing protection as assessed. Nips of mixer and rolls kill: trip bar, "
      "guards, lock "
      "out before a hand goes in. Overheated vinyl gives off hydrogen chloride.",
      "Closing platens crush; hydraulic oil injects and burns; steam and hot water scald: guards "
      "and "
      "two-hand control on, lock out before a hand goes in, open valves slowly. Edge trimmers cut; "
      "wear hearing "
      "and eye protection.",
      "Long listening at high level harms hearing: keep the day's dose under the works' limit and "
      "take "
      "breaks. Edges of metal parts cut.",
      "Lifting injures backs: assess the lift, look at the carton's mass, use a truck or two "
      "people. Knives "
      "cut away from the body; keep clear of fork trucks; never stand under a raised load."};
  return "Caution: " + std::string{hazards.at(static_cast<std::size_t>(station))} +
         " The works’ own rules, the local code and licensed practice come before this sheet.";
}

}  // namespace goodside::works
