// The plate from above, or one of its layers, as an SVG file of its own: what a page shows of the
// bed, larger, with its title and a legend, in colours that hold on paper.
#include <fmt/format.h>

#include <algorithm>

#include "base/counted.hpp"
#include "output/report/bed_drawing.hpp"
#include "output/report/labels.hpp"
#include "output/report/page.hpp"
#include "output/report/strings.hpp"
#include "platetally/account.hpp"
#include "platetally/picture.hpp"

namespace platetally {

namespace {

using report::BedFrame;
using report::duration;
using report::html_text;
using report::with_unit;
using report::words_at;

constexpr double kBed = 600.0;  // longest edge of the bed
constexpr double kLeft = 52.0;
constexpr double kTop = 76.0;
constexpr double kFoot = 44.0;
constexpr double kLegend = 330.0;
constexpr double kLine = 21.0;
constexpr double kBox = 13.0;
constexpr int kZoneWords = 38;  // characters that surely fit into the legend
constexpr std::size_t kObjectsShown = 30;

// The classes of html/page.css, as on paper.
constexpr const char* kStyle =
    "<style>svg{color:#15211b;background:#fff;font:14px system-ui,\"Noto Sans\",\"DejaVu "
    "Sans\",sans-serif}"
    "text{fill:#15211b}.title{font-size:20px;font-weight:650}.soft{fill:#53625a}"
    ".head{font-weight:650}.grid{stroke:#b9c4bd;stroke-width:.7;fill:none}"
    ".tile{stroke:#b9c4bd;stroke-width:1}.m0,.one{fill:#f1f4f1}.m1{fill:#d5e8dc}"
    ".m2{fill:#aed5bf}.m3{fill:#80bd9d}"
    ".tile-text,.number{paint-order:stroke;stroke:#fff;stroke-width:3px;stroke-opacity:.85}"
    ".number{font-weight:650}"
    ".area{stroke:#15211b;stroke-width:.4;stroke-opacity:.6}"
    ".outline{fill:none;stroke:#15211b;stroke-width:1.6;stroke-linejoin:round}"
    ".layer .outline{stroke-width:2}.layer .area{stroke:none}.waste{stroke:#15211b;stroke-width:1}"
    ".hatch{stroke:#15211b;stroke-width:1.4}.hatch-under{stroke:#fff;stroke-width:3}"
    ".dot{fill:#15211b}.dot-under{fill:#fff}"
    ".hue.h-1{fill:#0072b2}.hue.h-2{fill:#d55e00}.hue.h-3{fill:#009e73}.hue.h-4{fill:#cc79a7}"
    ".hue.h-5{fill:#e69f00}</style>\n";

std::string clipped(const std::string& text, std::size_t most) {
  std::string printable = report::printable(text);
  if (printable.size() <= most)
    return printable;
  std::size_t cut = most;
  while (cut > 0 && (static_cast<unsigned char>(printable[cut]) & 0xC0U) == 0x80U)
    --cut;  // not within a character
  return printable.substr(0, cut) + "..";
}

class Picture {
 public:
  Picture(const Account& account, const PictureOptions& options)
      : account_(account), options_(options) {
    const auto& chosen = options.of_layer ? account.layer_picture : account.plate_picture;
    if (chosen)
      picture_ = *chosen;
    else
      picture_.is_whole = true;
  }

  std::string write();

 private:
  void legend();
  void legend_of_tools();
  void legend_of_zones();
  void legend_of_objects();
  void line(const std::string& swatch, std::string_view text, std::string_view css = "");
  std::string box(const std::string& look) const;
  std::string subtitle() const;
  std::string described() const;

  const Account& account_;
  const PictureOptions& options_;
  PlatePicture picture_;
  std::string legend_;
  double legend_x_ = 0.0;
  double legend_y_ = kTop + 6.0;
};

std::string Picture::box(const std::string& look) const {
  return fmt::format("<rect {} x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.0f}\" height=\"{:.0f}\"/>",
                     look, legend_x_, legend_y_ - kBox + 2.0, kBox, kBox);
}

void Picture::line(const std::string& swatch, std::string_view text, std::string_view css) {
  legend_ +=
      swatch + words_at(legend_x_ + (swatch.empty() ? 0.0 : kBox + 8.0), legend_y_, text, css);
  legend_y_ += kLine;
}

void Picture::legend_of_tools() {
  line("", "Filament", "head");
  for (const int tool : report::tools_in(picture_))
    line(box(report::look_of_tool(account_, tool)), report::words_of_tool(account_, tool));
  if (report::holds(picture_, AreaUse::purge))
    line(box("class=\"waste\" fill=\"url(#purge)\""), "hatched: purge because of swaps");
  if (report::holds(picture_, AreaUse::start_up))
    line(box("class=\"waste\" fill=\"url(#start-up)\""), "dotted: start-up before the first swap");
  if (!picture_.at_mm)
    line("", "the tool that lies on top is shown", "soft");
  if (!picture_.is_whole)
    line("", "there was more than could be drawn", "soft");
}

void Picture::legend_of_zones() {
  if (account_.bed_zones.size() < 2)
    return;
  double most_wh = 0.0;
  for (const BedZoneAccount& zone : account_.bed_zones)
    most_wh = std::max(most_wh, zone.energy_wh);
  legend_y_ += 0.5 * kLine;
  line("", "Bed zones, heat over the whole plate", "head");
  for (const std::string& words : report::words_of_zones(account_))
    for (const std::string& part : report::wrap(words, kZoneWords))
      line(words.starts_with("off") ? box("class=\"tile m0\"") : "", part);
  for (int step = 1; step <= 3; ++step)
    line(box(fmt::format("class=\"tile m{}\"", step)),
         fmt::format("{} to {}", report::significant(most_wh * (step - 1) / 3.0),
                     with_unit(most_wh * step / 3.0, "Wh")));
}

void Picture::legend_of_objects() {
  if (account_.objects.empty())
    return;
  legend_y_ += 0.5 * kLine;
  line("", picture_.at_mm ? "Objects (whole plate)" : "Objects", "head");
  for (std::size_t i = 0; i < std::min(kObjectsShown, account_.objects.size()); ++i) {
    const ObjectAccount& object = account_.objects[i];
    const std::string number = object.number > 0 ? fmt::format("{}", object.number) : "";
    const std::string own_name = fmt::format("object {}", object.number);
    line("",
         fmt::format("{}{}{}: {}, {}", number, object.name == own_name || number.empty() ? "" : " ",
                     object.name == own_name ? "" : clipped(object.name, 18),
                     with_unit(object.part_g, "g"), duration(object.time_by.sum_s())));
  }
  if (account_.objects.size() > kObjectsShown)
    line("", fmt::format("and {} more", account_.objects.size() - kObjectsShown), "soft");
}

void Picture::legend() {
  legend_of_tools();
  legend_of_zones();
  legend_of_objects();
}

std::string Picture::subtitle() const {
  std::string out = picture_.at_mm ? fmt::format("layer at {} mm, from above",
                                                 report::significant(*picture_.at_mm))
                                   : std::string("the whole plate from above");
  out += fmt::format("; on {}", report::printable(account_.machine));
  if (!options_.date.empty())
    out += fmt::format("; {}", report::printable(options_.date));
  return out;
}

std::string Picture::described() const {
  std::string out = subtitle();
  out += fmt::format("; {}", base::counted(picture_.outlines.size(), "object"));
  for (const int tool : report::tools_in(picture_))
    out += "; " + report::words_of_tool(account_, tool);
  return out;
}

std::string Picture::write() {
  BedFrame frame = picture_.at_mm ? report::frame_around(picture_, account_.bed_picture)
                                  : report::frame_of(account_.bed_picture);
  const bool has_bed = report::has_bed(account_.bed_picture);
  frame.origin_x = kLeft;
  frame.origin_y = kTop;
  frame.scale = kBed / std::max(1.0, frame.longest_mm());
  legend_x_ = kLeft + frame.wide() + 28.0;
  legend();
  const double wide = legend_x_ + kLegend;
  const double deep = std::max(kTop + frame.deep() + kFoot, legend_y_ + 12.0);
  report::WordPlaces places;
  std::string drawn;
  if (has_bed) {
    const report::BedTiles tiles = report::tiles_of(account_, &picture_, frame, places);
    drawn = tiles.drawn + report::ruler_of(frame) +
            report::areas_of(account_, picture_, frame, places) + tiles.words;
  }
  const std::string title = clipped(report::short_name(account_.path), 70);
  // As wide as a page of A4 less its margins, upright or not.
  return fmt::format(
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"190mm\" "
      "height=\"{2:.1f}mm\" role=\"img\" aria-labelledby=\"title what\">\n"
      "<title id=\"title\">{3}</title>\n<desc id=\"what\">{4}</desc>\n{5}"
      "<rect width=\"{0:.0f}\" height=\"{1:.0f}\" fill=\"#fff\"/>\n{6}{7}{8}{9}{10}</svg>\n",
      wide, deep, 190.0 * deep / wide, html_text(title), html_text(described()), kStyle,
      report::area_patterns(), words_at(kLeft, 30.0, title, "title"),
      words_at(kLeft, 54.0, subtitle(), "soft"), drawn, legend_);
}

}  // namespace

std::string to_svg(const Account& account, const PictureOptions& options) {
  return Picture(account, options).write();
}

}  // namespace platetally
