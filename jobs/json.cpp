#include "jobs/json.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

namespace calcant {

std::string dump(const Json& j) { return j.dump(2, ' ', false, Json::error_handler_t::replace); }

std::string error_json(const Error& e) {
  Json j;
  j["error"] = {{"message", e.message}, {"where", e.where}};
  return dump(j);
}

double rounded(double value, int places) {
  const double scale = std::pow(10.0, places);
  const double r = std::round(value * scale) / scale;
  return r == 0 ? 0 : r;  // no -0
}

}  // namespace calcant
