#pragma once
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <utility>

#include "plan/shop_model.hpp"

namespace goodside::plan {

struct JobShop {
  ShopModel model;
  std::int64_t optimum_s{};
};

/// The published job shops as our own model: a machine is a unit that is always open, a job an order without a date.
inline std::map<std::string, JobShop> published_job_shops() {
  std::map<std::string, JobShop> all;
  std::ifstream file{GOODSIDE_SOURCE_DIR "/tests/published/job_shops/job_shops.txt"};
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line.front() == '#') continue;
    std::istringstream head{line};
    std::string name;
    int jobs = 0, machines = 0;
    JobShop shop;
    head >> name >> jobs >> machines >> shop.optimum_s;
    shop.model.calendars.emplace_back();
    for (int m = 0; m < machines; ++m) {
      ShopUnit unit;
      unit.id = std::to_string(m);
      shop.model.units.push_back(unit);
    }
    for (int j = 0; j < jobs; ++j) {
      std::getline(file, line);
      std::istringstream row{line};
      ShopOrder order;
      order.id = std::to_string(j);
      shop.model.orders.push_back(order);
      for (int k = 0; k < machines; ++k) {
        int machine = 0;
        std::int64_t time_s = 0;
        row >> machine >> time_s;
        ShopOperation work;
        work.id = order.id + "." + std::to_string(k);
        work.order = j;
        work.needs = {{{machine, time_s}}};
        if (k > 0) work.after = {{static_cast<int>(shop.model.operations.size()) - 1, 0}};
        shop.model.operations.push_back(work);
      }
    }
    all[name] = std::move(shop);
  }
  return all;
}

}  // namespace goodside::plan
