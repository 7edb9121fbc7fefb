// The pages, as they were built into the program (web/dist at the time of the build).
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "desk/http.hpp"

namespace calcant::desk {

struct Page {
  std::string_view name;  // "index.html", "assets/index-B3x.js"
  std::string_view gzip;  // its bytes, packed (RFC 1952)
};
// In the order of their names; empty where the program was built without pages.
[[nodiscard]] std::span<const Page> built_in_pages();

// The answer to GET of an address that is not the API's. An address without a dot in its last part is a page of the
// application and answered by index.html, which takes it from there. Names with a hash in them (assets/) never change;
// everything else is asked for again each time, and answered by 304 when it is the same.
[[nodiscard]] Response page_answer(std::span<const Page> pages, const std::vector<std::string>& path, const Head& head);

}  // namespace calcant::desk
