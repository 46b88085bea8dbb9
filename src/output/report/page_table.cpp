#include "output/report/page_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "output/report/page.hpp"
#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

/// Values in order as bars of one small picture.
std::string strip_html(const std::vector<double>& values, std::string_view title) {
  constexpr double kWide = 96.0;
  constexpr double kHigh = 18.0;
  const double most = values.empty() ? 0.0 : *std::max_element(values.begin(), values.end());
  if (!(most > 0.0))
    return "<span class=\"soft\">none</span>";
  std::string out = fmt::format(
      "<svg class=\"strip\" role=\"img\" aria-label=\"{}, at most {} in one of {} parts\" "
      "width=\"{}\" height=\"{}\">",
      html_text(title), significant(most), values.size(), kWide, kHigh);
  const double step = kWide / static_cast<double>(values.size());
  for (std::size_t i = 0; i < values.size(); ++i)
    if (values[i] > 0.0)
      out += fmt::format(
          "<rect class=\"h-purge\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\"/>",
          static_cast<double>(i) * step, kHigh * (1.0 - values[i] / most), step * 0.85,
          kHigh * values[i] / most);
  return out + "</svg>";
}

/// Words between figures, "within the band", may break where there is no room for them.
bool has_digits(std::string_view text) {
  return text.find_first_of("0123456789") != std::string_view::npos;
}

std::string head_html(const TableColumn& column) {
  if (column.title.empty())
    return "<td></td>";
  return fmt::format(
      "<th scope=\"col\"{}{}>{}{}</th>", column.is_words || column.is_strip ? " class=\"w\"" : "",
      column.is_strip ? " data-fixed" : "", html_prose(column.title),
      column.unit.empty() ? "" : fmt::format("&nbsp;<small>{}</small>", html_text(column.unit)));
}

std::string cell_html(const TableColumn& column, const TableCell& cell, double most,
                      const std::string& mark, bool is_first) {
  std::string inside = column.is_strip  ? strip_html(cell.strip, column.title)
                       : column.is_name ? html_name(cell.text)
                       : column.is_words || !has_digits(cell.text)
                           ? html_prose(cell.text)
                           : html_text(held_together(cell.text, true));
  if (!cell.note.empty())
    inside += fmt::format("<small>{}</small>", html_prose(cell.note));
  if (is_first && !mark.empty())
    inside += fmt::format("<small class=\"mark\">{}</small>", html_prose(mark));
  if (column.has_bars && cell.value && std::isfinite(*cell.value) && most > 0.0)
    inside += fmt::format(
        "<svg class=\"bar\" height=\"4\" aria-hidden=\"true\"><rect class=\"rail\" width=\"100%\" "
        "height=\"4\"/><rect class=\"h-1\" width=\"{:.1f}%\" height=\"4\"/></svg>",
        100.0 * std::max(0.0, *cell.value) / most);
  const std::string value =
      cell.value ? fmt::format(" data-v=\"{}\"", exact_number(*cell.value)) : "";
  const char* css = column.is_name                       ? " class=\"w name\""
                    : column.is_words || column.is_strip ? " class=\"w\""
                                                         : "";
  return is_first ? fmt::format("<th scope=\"row\"{}{}>{}</th>", css, value, inside)
                  : fmt::format("<td{}{}>{}</td>", css, value, inside);
}

}  // namespace

PageTable plain_table(std::vector<TableColumn> columns,
                      const std::vector<std::vector<std::string>>& rows) {
  PageTable table;
  table.columns = std::move(columns);
  for (const std::vector<std::string>& row : rows) {
    TableRow made;
    for (const std::string& text : row)
      made.cells.push_back({text});
    table.rows.push_back(std::move(made));
  }
  return table;
}

std::string html_of(const PageTable& table) {
  std::vector<double> most(table.columns.size(), 0.0);
  for (const TableRow& row : table.rows)
    for (std::size_t i = 0; i < std::min(row.cells.size(), most.size()); ++i)
      if (row.cells[i].value && std::isfinite(*row.cells[i].value))
        most[i] = std::max(most[i], *row.cells[i].value);
  std::string out = fmt::format(
      "<div class=\"scroll\" tabindex=\"0\" role=\"region\" "
      "aria-label=\"{}\"><table{}{}{}>\n<thead><tr>",
      html_text(table.caption.empty() ? "table" : table.caption),
      table.is_close ? " class=\"close\"" : "", table.is_sortable ? " data-sort" : "",
      table.filter.empty() ? "" : fmt::format(" data-filter=\"{}\"", html_text(table.filter)));
  for (const TableColumn& column : table.columns)
    out += head_html(column);
  out += "</tr></thead>\n<tbody>\n";
  bool is_in_foot = false;
  for (const TableRow& row : table.rows) {
    if (row.is_sum && !is_in_foot) {
      out += "</tbody>\n<tfoot>\n";
      is_in_foot = true;
    }
    out += !row.mark.empty() ? "<tr class=\"over\">"
           : row.is_chosen   ? "<tr class=\"chosen\">"
                             : "<tr>";
    for (std::size_t i = 0; i < std::min(row.cells.size(), table.columns.size()); ++i)
      out += cell_html(table.columns[i], row.cells[i], most[i], row.mark, i == 0);
    out += "</tr>\n";
  }
  return out + (is_in_foot ? "</tfoot>" : "</tbody>") + "</table></div>\n";
}

}  // namespace platetally::report
