// The page the tuner is sent: what is open in the book, and what measurings found since each stop was last seen to.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "book/book.hpp"
#include "jobs/context.hpp"

namespace calcant {

struct TunersPage {
  std::string html;
  std::vector<BookFault> faults;  // open on the day
  int measured = 0;               // rows that come from measurings alone
  int left_out_cold = 0;          // out-of-tune notes heard or measured in the cold
};

// One printable page, stop by stop in the tuner's order: what was heard, in keyboard words; room for found, done, leave.
// Of each stop the newest measuring up to `date` counts, unless a visit came after it; what is in the book as a fault is
// not said again. Out-of-tune notes of a cold day are left out and counted.
[[nodiscard]] Result<TunersPage> tuners_page(const OrganContext& context, const Book& book, std::string_view date);
[[nodiscard]] std::string json_text(const OrganContext& context, const TunersPage& page);

}  // namespace calcant
