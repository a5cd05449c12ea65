#include "stats/sign_test.hpp"

#include <boost/math/distributions/binomial.hpp>

#include "base/expects.hpp"

namespace goodside::stats {

double sign_test_chance(Wins light, Wins heavy, double weight) {
  EXPECTS(light.won >= 0 && light.lost >= 0 && heavy.won >= 0 && heavy.lost >= 0 && weight > 0.0);
  const int lights = light.won + light.lost, heavies = heavy.won + heavy.lost;
  const double balance = light.won - light.lost + weight * (heavy.won - heavy.lost);
  const boost::math::binomial light_toss(lights, 0.5), heavy_toss(heavies, 0.5);
  const double rounding = 1e-9 * (lights + weight * heavies);
  double chance = 0.0;
  for (int i = 0; i <= lights; ++i)
    for (int k = 0; k <= heavies; ++k)
      if (2 * i - lights + weight * (2 * k - heavies) >= balance - rounding)
        chance += pdf(light_toss, i) * pdf(heavy_toss, k);
  return chance < 1.0 ? chance : 1.0;
}

}  // namespace goodside::stats
