#include <nlohmann/json.hpp>

#include "desk/routes.hpp"
#include "jobs/faults.hpp"
#include "jobs/prepare.hpp"

namespace calcant::desk {
namespace {

std::string desk_json(Desk& desk) {
  Json j;
  j["version"] = desk.settings().version;
  j["today"] = desk.today();
  j["folder"] = std::filesystem::canonical(desk.folder()).filename().string();
  const auto organ = desk.organ();
  j["organ"] = nullptr;
  j["problem"] = nullptr;
  j["open_faults"] = 0;
  j["allowed_for"] = Json::array();
  if (!organ) {
    j["problem"] = {{"message", organ.error().message}, {"where", organ.error().where}};
    return dump(j);
  }
  const OrganContext& context = (*organ)->context;
  j["organ"] = {{"id", context.organ.id},
                {"name", context.organ.name},
                {"invented", context.organ.invented},
                {"hash", (*organ)->hash}};
  j["allowed_for"] = faults_of_the_day(context);
  std::error_code none;
  if (std::filesystem::exists(desk.folder() / "organ.book", none)) {
    auto book = desk.book(context);
    const auto faults = book ? book->faults_open("") : Result<std::vector<BookFault>>{tl::unexpect, book.error()};
    if (faults) j["open_faults"] = faults->size();
    else j["problem"] = {{"message", faults.error().message}, {"where", faults.error().where}};
  }
  return dump(j);
}

Answer get_desk(Asking& a) {
  if (auto right = finished(a.query); !right) return tl::unexpected<Why>(right.error());
  return json_answer(desk_json(a.desk));
}

Answer post_session(Asking& a) {
  auto body = body_of(a);
  if (!body) return tl::unexpected<Why>(body.error());
  const std::string token = body->required("token");
  if (auto right = finished(*body); !right) return tl::unexpected<Why>(right.error());
  const Keys& keys = a.desk.settings().keys;
  if (!same_secret(token, keys.token)) {
    return why(401, "This is not the token of this run of the desk; open it by the address it printed.", "token");
  }
  Response r = json_answer(desk_json(a.desk));
  r.headers.emplace_back("Set-Cookie", cookie_setting(keys));
  return r;
}

}  // namespace

std::vector<Route> desk_routes() {
  return {{"POST", "/api/session", post_session, Carries::json, 4096}, {"GET", "/api/desk", get_desk}};
}

}  // namespace calcant::desk
