#include "engine/plan/plain_words.hpp"

#include <algorithm>

#include "engine/quantity/nearest.hpp"
#include "engine/quantity/typed.hpp"

namespace calcant {
namespace {

constexpr std::size_t longest_phrase = 6;  // words
constexpr double a_step = 0.2;
constexpr double a_shade = 0.1;

struct Token {
  std::string text;
  bool ends_clause = false;  // a comma or the like follows
};

// Words in small letters, without quotation marks and full stops.
std::vector<Token> tokens(std::string_view typed) {
  static constexpr std::string_view quotes[] = {"\"", "\u201c", "\u201d", "\u2018", "\u2019", "'", "`", ".", "!"};
  const auto bare = [](std::string w) {
    for (bool again = true; again;) {
      again = false;
      for (const std::string_view q : quotes) {
        if (w.starts_with(q)) {
          w.erase(0, q.size());
          again = true;
        }
        if (w.ends_with(q)) {
          w.resize(w.size() - q.size());
          again = true;
        }
      }
    }
    return w;
  };
  std::vector<Token> out;
  std::string word;
  const auto end_word = [&] {
    if (std::string w = bare(word); !w.empty()) out.push_back({std::move(w), false});
    word.clear();
  };
  for (const char c : lower(typed)) {
    const bool clause = c == ',' || c == ';' || c == '/' || c == '|' || c == '(' || c == ')';
    if (clause || c == ' ' || c == '\t' || c == '\n' || c == '\r') {
      end_word();
      if (clause && !out.empty()) out.back().ends_clause = true;
    } else {
      word += c;
    }
  }
  end_word();
  return out;
}

bool among(std::string_view word, std::initializer_list<std::string_view> list) {
  return std::find(list.begin(), list.end(), word) != list.end();
}
bool denies(std::string_view word) {
  return among(word, {"no", "not", "without", "never", "nor", "or", "don't", "hardly"});
}
// Where what is denied ends, and words that say nothing by themselves.
bool turns(std::string_view word) { return among(word, {"but", "yet", "then"}); }
bool fills(std::string_view word) {
  return turns(word) || among(word, {"and", "with", "a", "an", "the", "verse", "please"});
}
bool grades(std::string_view word) {
  return among(word, {"very", "rather", "quite", "fairly", "more", "most", "so", "too", "really", "extra"});
}
// Of a part of a verse: what its clause says is not of the whole.
bool parts(std::string_view word) {
  return among(word, {"line", "lines", "half", "start", "begin", "end", "ending", "finish", "gradually", "cresc"});
}

const WishWord* find_as_written(const std::string& word, const Wordbook& own) {
  for (const Wordbook* book : {&own, &usual_words()}) {
    for (const WishWord& w : *book) {
      if (lower(w.word) == word) return &w;
    }
  }
  return nullptr;
}

// "quietly" is "quiet", "gently" is "gentle".
const WishWord* find(const std::string& word, const Wordbook& own) {
  const WishWord* found = find_as_written(word, own);
  if (found != nullptr || !word.ends_with("ly") || word.size() < 5) return found;
  const std::string stem = word.substr(0, word.size() - 2);
  found = find_as_written(stem, own);
  return found != nullptr ? found : find_as_written(stem + "le", own);
}

class Reader {
 public:
  Reader(std::string_view text, const Wordbook& own, const std::vector<std::string_view>& phrases)
      : tokens_(tokens(text)), own_(own), phrases_(phrases) {}

  WordsRead read() {
    for (std::size_t i = 0; i < tokens_.size();) {
      if (partial(i)) i = denied(i);
      else if (const std::size_t n = known(i)) i += n;
      else if (const std::size_t m = graded(i)) i += m;
      else if (denies(tokens_[i].text)) i = denied(i);
      else if (fills(tokens_[i].text)) pass(i++);
      else unknown(i++);
    }
    if (counted_ > 0) out_.meaning.share = sum_ / counted_;
    return std::move(out_);
  }

 private:
  // Whether what is said from here to the end of the clause is of a part of the verse only: "soft last line", or what comes
  // "then". Nothing is moved within a verse, so it is told.
  [[nodiscard]] bool partial(std::size_t from) const {
    const bool begins = from == 0 || tokens_[from - 1].ends_clause;
    if (tokens_[from].text == "then") return from > 0;
    for (std::size_t i = from; begins && i < tokens_.size(); ++i) {
      if (parts(tokens_[i].text)) return true;
      if (tokens_[i].ends_clause || tokens_[i].text == "then") break;
    }
    return false;
  }
  // "full swell" and the like name what is drawn, not how loud: whether a word nobody knows follows "full".
  [[nodiscard]] bool names_another(std::size_t next) const {
    if (next >= tokens_.size() || tokens_[next - 1].text != "full" || tokens_[next - 1].ends_clause) return false;
    const std::string& word = tokens_[next].text;
    const bool phrase = std::any_of(phrases_.begin(), phrases_.end(),
                                    [&](std::string_view p) { return p == word || p.starts_with(word + ' '); });
    return !phrase && !fills(word) && !denies(word) && !grades(word) && !parts(word) && find(word, own_) == nullptr;
  }

  // How many tokens a known phrase that begins here has; 0: none does.
  std::size_t known(std::size_t from) {
    std::vector<std::string> starts;
    std::string text;
    for (std::size_t i = from; i < tokens_.size() && starts.size() < longest_phrase; ++i) {
      text += (text.empty() ? "" : " ") + tokens_[i].text;
      starts.push_back(text);
      if (tokens_[i].ends_clause) break;
    }
    for (std::size_t n = starts.size(); n > 0; --n) {
      const std::string& phrase = starts[n - 1];
      const WishWord* w = find(phrase, own_);
      const bool kind = w == nullptr && std::find(phrases_.begin(), phrases_.end(), phrase) != phrases_.end();
      if ((w == nullptr && !kind) || (w != nullptr && names_another(from + n))) continue;
      if (kind) {
        out_.phrases.push_back(phrase);
      } else {
        add(*w);
        out_.known += (out_.known.empty() ? "" : clause_ ? ", " : " ") + phrase;
        clause_ = false;
      }
      pass(from + n - 1);
      return n;
    }
    return 0;
  }
  // A known word made stronger or weaker by one before it: told, and the word taken as it is.
  std::size_t graded(std::size_t i) {
    if (!grades(tokens_[i].text) || tokens_[i].ends_clause || i + 1 == tokens_.size()) return 0;
    const std::size_t n = known(i + 1);
    if (n == 0) return 0;
    std::string text;
    for (std::size_t k = i + 1; k <= i + n; ++k) text += (text.empty() ? "" : " ") + tokens_[k].text;
    out_.graded.emplace_back(tokens_[i].text, std::move(text));
    return n + 1;
  }
  void add(const WishWord& w) {
    Meaning& m = out_.meaning;
    m.colour = std::clamp(m.colour + w.colour, -1.0, 1.0);
    if (w.step) m.step = m.step.value_or(0) + *w.step;
    if (!w.share) return;
    sum_ += *w.share;
    ++counted_;
  }
  // From a denial to the end of its clause.
  std::size_t denied(std::size_t i) {
    std::string text;
    for (; i < tokens_.size(); ++i) {
      if (!text.empty() && turns(tokens_[i].text)) break;  // what comes "then" is told by itself
      text += (text.empty() ? "" : " ") + tokens_[i].text;
      if (tokens_[i].ends_clause) {
        pass(i++);
        break;
      }
    }
    out_.denied.push_back(std::move(text));
    run_ = false;
    return i;
  }
  // Unknown words that follow one another are told together.
  void unknown(std::size_t i) {
    if (run_) out_.unknown.back() += " " + tokens_[i].text;
    else out_.unknown.push_back(tokens_[i].text);
    run_ = true;
    if (tokens_[i].ends_clause) pass(i);
  }
  void pass(std::size_t i) {
    run_ = false;
    clause_ = clause_ || tokens_[i].ends_clause;
  }

  std::vector<Token> tokens_;
  const Wordbook& own_;
  const std::vector<std::string_view>& phrases_;
  WordsRead out_;
  double sum_ = 0;
  int counted_ = 0;
  bool run_ = false;     // the token before was not known
  bool clause_ = false;  // a comma came since the last known word
};

Wordbook table() {
  Wordbook words;
  for (const PlainLevel& l : plain_levels) words.push_back({std::string{l.word}, l.share});
  const Wordbook more{// other words for the steps, and between them
                      {"hushed", 0.0},
                      {"very quiet", 0.0},
                      {"quiet", 0.15},
                      {"quite soft", 0.2},
                      {"softly", 0.2},
                      {"rather quiet", 0.35},
                      {"fairly soft", 0.35},
                      {"medium", 0.5},
                      {"not too soft", 0.5},
                      {"not too loud", 0.5},
                      {"firm", 0.55},
                      {"fairly loud", 0.65},
                      {"quite loud", 0.65},
                      {"very loud", 0.95},
                      {"full organ", 1.0},
                      {"tutti", 1.0},
                      {"as soft as possible", 0.0},
                      {"as quiet as possible", 0.0},
                      {"as loud as possible", 1.0},
                      // dynamics
                      {"ppp", 0.0},
                      {"pp", 0.05},
                      {"p", 0.2},
                      {"mp", 0.35},
                      {"mf", 0.55},
                      {"f", 0.8},
                      {"ff", 0.95},
                      {"fff", 1.0},
                      // what a verse is about
                      {"prayer", 0.1},
                      {"prayerful", 0.1},
                      {"awe", 0.1, -0.5},
                      {"gentle", 0.15},
                      {"calm", 0.15},
                      {"peaceful", 0.15},
                      {"reflective", 0.15},
                      {"dark", 0.15, -1},
                      {"mysterious", 0.15, -1},
                      {"warm", 0.3, -0.5},
                      {"light", 0.3, 1},
                      {"solemn", 0.35, -0.5},
                      {"plain", 0.4},
                      {"ordinary", 0.4},
                      {"trust", 0.4},
                      {"bright", 0.65, 1},
                      {"bold", 0.7},
                      {"joy", 0.75, 0.5},
                      {"joyful", 0.75, 0.5},
                      {"praise", 0.75},
                      {"stately", 0.75},
                      {"strong", 0.85},
                      {"majestic", 0.85},
                      {"jubilant", 0.85, 0.5},
                      {"glory", 0.85, 0.5},
                      {"triumph", 1.0},
                      {"triumphant", 1.0},
                      // beside what goes before, or what is usual for the level
                      {"darker", {}, -1},
                      {"brighter", {}, 1},
                      {"softer", {}, 0, -a_step},
                      {"quieter", {}, 0, -a_step},
                      {"louder", {}, 0, a_step},
                      {"fuller", {}, 0, a_step},
                      {"a shade softer", {}, 0, -a_shade},
                      {"a shade less", {}, 0, -a_shade},
                      {"a little softer", {}, 0, -a_shade},
                      {"a little quieter", {}, 0, -a_shade},
                      {"a bit softer", {}, 0, -a_shade},
                      {"a bit quieter", {}, 0, -a_shade},
                      {"slightly softer", {}, 0, -a_shade},
                      {"slightly quieter", {}, 0, -a_shade},
                      {"a shade louder", {}, 0, a_shade},
                      {"a shade more", {}, 0, a_shade},
                      {"a little louder", {}, 0, a_shade},
                      {"a bit louder", {}, 0, a_shade},
                      {"slightly louder", {}, 0, a_shade}};
  words.insert(words.end(), more.begin(), more.end());
  return words;
}

}  // namespace

std::string plain_level_words() {
  std::string out;
  for (const PlainLevel& l : plain_levels) out += (out.empty() ? "" : ", ") + std::string{l.word};
  return out;
}

const Wordbook& usual_words() {
  static const Wordbook words = table();
  return words;
}

WordsRead read_words(std::string_view text, const Wordbook& own, const std::vector<std::string_view>& phrases) {
  return Reader(text, own, phrases).read();
}

std::optional<Meaning> meaning(std::string_view wish, const Wordbook& own) {
  const WordsRead read = read_words(wish, own);
  return read.known.empty() ? std::nullopt : std::optional{read.meaning};
}

std::string nearest_word(std::string_view unknown, const Wordbook& own, const std::vector<std::string_view>& phrases) {
  std::vector<std::string> all;
  for (const Wordbook* book : {&own, &usual_words()}) {
    for (const WishWord& w : *book) all.push_back(w.word);
  }
  for (const std::string_view p : phrases) all.emplace_back(p);
  return nearest(unknown, all);
}

}  // namespace calcant
