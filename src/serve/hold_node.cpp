#include "serve/hold_node.hpp"

#include "serve/nodes.hpp"

namespace goodside::serve {

json::Node held_node(const line::Quarantined& held) {
  List cartons, shipments, uncounted;
  for (const std::string& carton : held.cartons) cartons.emplace_back(carton);
  for (const std::string& run : held.uncounted) uncounted.emplace_back(run);
  for (const line::RecalledShipment& gone : held.shipped) {
    List in;
    for (const std::string& carton : gone.cartons) in.emplace_back(carton);
    shipments.push_back(Object{{"shipment", gone.shipment},
                               {"to", gone.to},
                               {"cartons", std::move(in)},
                               {"discs", gone.discs}});
  }
  return Object{{"entry", held.head ? json::Node{held.head->seq} : json::Node{}},
                {"hash", held.head ? json::Node{held.head->hash} : json::Node{}},
                {"discs", held.discs},
                {"already", held.already},
                {"shipped", held.gone},
                {"cartons", std::move(cartons)},
                {"shipments", std::move(shipments)},
                {"uncounted", std::move(uncounted)}};
}

}  // namespace goodside::serve
