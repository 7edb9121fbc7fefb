// The tuner's list: one page, stop by stop in the tuner's order, symptoms and no verdicts, with room to write.
#pragma once

#include <string>
#include <vector>

namespace calcant {

struct TunerList {
  std::string organ;
  bool invented = false;
  std::string date;
  std::string pitch;
  struct Row {
    std::string stop;
    std::string note;  // in keyboard words: "tenor G sharp"
    std::string heard;
    std::string when;         // "cold", "now and then"; empty: not said
    std::string reported;     // date
    std::string temperature;  // when it was heard
  };
  std::vector<Row> rows;
  int left_out_cold = 0;  // out-of-tune notes heard in the cold, not listed
};

[[nodiscard]] std::string tuner_list_page(const TunerList& list);

}  // namespace calcant
