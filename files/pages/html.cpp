#include "files/pages/html.hpp"

#include <cctype>

namespace calcant {
namespace {

// Serif throughout, as service sheets are set; sizes in points because it is paper that counts.
constexpr std::string_view frame_css = R"(
@page { size: A4; margin: 13mm 15mm 12mm 15mm; }
* { box-sizing: border-box; }
html { background: #fff; color: #000; }
body { margin: 0 auto; max-width: 180mm; font: 14pt/1.28 "Source Serif 4", "Source Serif Pro", Charter, "Bitstream Charter",
  Georgia, "Liberation Serif", "Noto Serif", "DejaVu Serif", serif; font-variant-numeric: lining-nums; -webkit-print-color-adjust: exact; }
h1, h2, h3, p, ul, ol, dl, dd { margin: 0; padding: 0; }
.invented { font-style: italic; }
@media screen { body { padding: 13mm 15mm; max-width: 210mm; } }
)";

// Whether a letter is the sharp or flat of a note's name: "F#2", "Bb3".
bool accidental(std::string_view text, std::size_t i) {
  const auto letter = [&](std::size_t k) { return std::isalnum(static_cast<unsigned char>(text[k])) != 0; };
  return (text[i] == '#' || text[i] == 'b') && i > 0 && text[i - 1] >= 'A' && text[i - 1] <= 'G' &&
         (i == 1 || !letter(i - 2)) && i + 1 < text.size() &&
         std::isdigit(static_cast<unsigned char>(text[i + 1])) != 0 && (i + 2 == text.size() || !letter(i + 2));
}

}  // namespace

std::string escaped(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (accidental(text, i)) {
      out += c == '#' ? "\u266f" : "\u266d";
      continue;
    }
    switch (c) {
      case '&': out += "&amp;"; break;
      case '<': out += "&lt;"; break;
      case '>': out += "&gt;"; break;
      case '"': out += "&quot;"; break;
      case '\'': out += "&#39;"; break;
      default: out += c;
    }
  }
  return out;
}

std::string tied(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool held = text[i] == ' ' && i > 0 && text[i - 1] != ',' && text[i - 1] != ';';
    out += held ? "\u00a0" : std::string(1, text[i]);
  }
  return out;
}

std::string page(std::string_view title, std::string_view extra_css, std::string_view body) {
  std::string out = "<!doctype html>\n<html lang=\"en-GB\">\n<head>\n<meta charset=\"utf-8\">\n<title>";
  out += escaped(title);
  out += "</title>\n<style>";
  out += frame_css;
  out += extra_css;
  out += "</style>\n</head>\n<body>\n";
  out += body;
  out += "</body>\n</html>\n";
  return out;
}

}  // namespace calcant
