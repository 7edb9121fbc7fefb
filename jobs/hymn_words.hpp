// A hymn as it is typed in under a minute: "247 St Anne, C major, 8.6.8.6, 6 verses".
#pragma once

#include <string>
#include <string_view>

#include "engine/plan/hymn.hpp"

namespace calcant {

// Fields in any order after the tune, between commas: a key ("G", "E flat major", "F# minor"), a metre or a number of lines
// ("8.7.8.7 D", "CM", "4 lines"), verses ("6 verses", "6"). A number before the tune is the hymn's. Of two bare numbers the
// first is lines, the second verses. Verses must be said. Verses come without words.
[[nodiscard]] Result<Hymn> parse_hymn(std::string_view text);

// "G", "B flat", "F# minor": sets tonic, minor and the key's name.
[[nodiscard]] Result<void> set_key(Hymn& hymn, std::string_view text);
// A metre, or lines as a number.
[[nodiscard]] Result<void> set_metre(Hymn& hymn, std::string_view text);
// "first line", "last line", "both", "whole", "none".
[[nodiscard]] Result<PlayOver> parse_play_over(std::string_view text);

// Words on how verses want to sound, laid on the hymn: "2: soft, no pedal", "1-3: firm", "play-over: quiet". A verse that is
// not sung is an error. Of a psalm a half may be meant ("3a: gentle", "3b: dark"; what is said of the first half goes on in
// the second where nothing was said of that), and the Gloria by its name.
[[nodiscard]] Result<void> set_words(Hymn& h, const std::string& text);

}  // namespace calcant
