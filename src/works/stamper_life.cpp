#include "works/stamper_life.hpp"

#include "base/expects.hpp"

namespace goodside::works {

std::string_view word(LifeCause cause) {
  switch (cause) {
    case LifeCause::wear:
      return "wear";
    case LifeCause::crack:
      return "crack";
    case LifeCause::damage:
      return "damage";
    case LifeCause::loss:
      return "loss";
  }
  EXPECTS(false);
}

}  // namespace goodside::works
