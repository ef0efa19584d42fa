#include "cli/story_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/terminal_text.h"

namespace tileflux::cli {

namespace {

constexpr std::size_t left_blanks = 2, gap_columns = 2;

struct Sheet {
  std::vector<std::string> heads;
  std::vector<bool> right;
  std::vector<std::vector<std::string>> rows;
  std::vector<std::size_t> widths;
};

std::string head_of_column(const report::Column& column) {
  return column.unit.empty() || column.unit == "1" ? column.name : column.name + ", " + column.unit;
}

std::string text_of_cell(const report::Cell& cell, const report::Column& column) {
  if (const auto* value = std::get_if<double>(&cell)) return number_text(*value, column.decimals);
  if (const auto* text = std::get_if<std::string>(&cell)) return harmless(*text);
  return "";
}

/// Which rows are told, rising.
std::vector<std::size_t> told_rows(const report::Table& table, const TableStyle& style) {
  std::vector<std::size_t> rows;
  const std::size_t all = table.rows.size();
  const std::size_t count = style.most_rows ? std::min(*style.most_rows, all) : all;
  for (std::size_t i = 0; i < count; ++i)
    rows.push_back(style.spread_rows && count > 1 ? i * (all - 1) / (count - 1) : i);
  return rows;
}

Sheet sheet_of(const report::Table& table, const std::vector<std::size_t>& rows) {
  Sheet sheet;
  for (const report::Column& column : table.columns) {
    sheet.heads.push_back(harmless(head_of_column(column)));
    sheet.right.push_back(column.number);
    sheet.widths.push_back(columns_taken(sheet.heads.back()));
  }
  for (const std::size_t row : rows) {
    std::vector<std::string> cells;
    for (std::size_t c = 0; c < table.columns.size(); ++c) {
      cells.push_back(c < table.rows[row].size() ? text_of_cell(table.rows[row][c], table.columns[c]) : "");
      sheet.widths[c] = std::max(sheet.widths[c], columns_taken(cells.back()));
    }
    sheet.rows.push_back(std::move(cells));
  }
  return sheet;
}

std::size_t total_of(const Sheet& sheet) {
  std::size_t sum = left_blanks;
  for (const std::size_t width : sheet.widths) sum += width + gap_columns;
  return sum - gap_columns;
}

/// Makes the widest columns of text narrower until all columns fit, or no text can give any more.
void squeeze(Sheet& sheet, std::size_t room, std::size_t narrowest_text) {
  while (total_of(sheet) > room) {
    std::optional<std::size_t> widest;
    for (std::size_t c = 0; c < sheet.widths.size(); ++c) {
      if (sheet.right[c] || sheet.widths[c] <= narrowest_text) continue;
      if (!widest || sheet.widths[c] > sheet.widths[*widest]) widest = c;
    }
    if (!widest) return;
    const std::size_t excess = std::min(total_of(sheet) - room, sheet.widths[*widest] / 8 + 1);
    sheet.widths[*widest] = std::max(narrowest_text, sheet.widths[*widest] - excess);
  }
}

/// Whether what stands beside the rows fits without making any text hard to read.
bool fits_beside(Sheet sheet, std::size_t beside, std::size_t width) {
  if (beside + left_blanks > width) return false;
  constexpr std::size_t readable = 18;
  squeeze(sheet, width - beside, readable);
  return total_of(sheet) + beside <= width;
}

std::string padded(const std::string& text, std::size_t width, bool right) {
  const std::string blanks(width - std::min(width, columns_taken(text)), ' ');
  return right ? blanks + text : text + blanks;
}

/// Columns in groups that fit, each beginning with the first column.
std::vector<std::vector<std::size_t>> blocks_of(const Sheet& sheet, std::size_t room) {
  std::vector<std::vector<std::size_t>> blocks{{0}};
  std::size_t used = left_blanks + sheet.widths[0];
  for (std::size_t c = 1; c < sheet.widths.size(); ++c) {
    if (used + gap_columns + sheet.widths[c] > room && blocks.back().size() > 1) {
      blocks.push_back({0});
      used = left_blanks + sheet.widths[0];
    }
    blocks.back().push_back(c);
    used += gap_columns + sheet.widths[c];
  }
  return blocks;
}

/// One row, in as many lines as its longest text takes.
std::string line_of(const Sheet& sheet, const std::vector<std::string>& cells, const std::vector<std::size_t>& block,
                    const std::string& beside) {
  std::vector<std::vector<std::string>> pieces;
  std::size_t lines = 1;
  for (const std::size_t c : block) {
    pieces.push_back(broken_into(cells[c], sheet.widths[c]));
    lines = std::max(lines, pieces.back().size());
  }
  std::string text;
  for (std::size_t l = 0; l < lines; ++l) {
    std::string line(left_blanks, ' ');
    for (std::size_t i = 0; i < block.size(); ++i) {
      const std::string piece = l < pieces[i].size() ? pieces[i][l] : std::string();
      line +=
          (i > 0 ? std::string(gap_columns, ' ') : "") + padded(piece, sheet.widths[block[i]], sheet.right[block[i]]);
    }
    if (l == 0 && !beside.empty()) line += std::string(gap_columns, ' ') + beside;
    line.erase(line.find_last_not_of(' ') + 1);
    text += line + '\n';
  }
  return text;
}

}  // namespace

std::string number_text(double value, int decimals) {
  if (!std::isfinite(value)) return "";
  std::string text = decimals >= 0 ? fmt::format("{:.{}f}", value, decimals) : fmt::format("{:.{}g}", value, -decimals);
  if (text.starts_with('-') && text.find_first_not_of("-0.") == std::string::npos) text.erase(0, 1);
  return text;
}

std::string table_text(const report::Table& table, const TableStyle& style) {
  std::string text;
  if (!table.caption.empty()) text += wrapped_to(harmless(table.caption), style.width, left_blanks);
  if (table.columns.empty() || table.rows.empty()) return text;
  const std::vector<std::size_t> told = told_rows(table, style);
  Sheet sheet = sheet_of(table, told);
  std::size_t beside = 0;
  for (const std::string& one : style.beside) beside = std::max(beside, columns_taken(one));
  if (beside > 0) beside += gap_columns;
  const bool pictured = beside > 0 && fits_beside(sheet, beside, style.width);
  // Columns of text share a third of the width each at least; rather than narrower still, columns go below.
  constexpr std::size_t readable = 18, wide = 40;
  squeeze(sheet, pictured ? style.width - beside : style.width,
          pictured ? readable : std::clamp(style.width / 3, readable - 4, wide));
  const auto blocks = blocks_of(sheet, style.width);
  for (std::size_t b = 0; b < blocks.size(); ++b) {
    if (b > 0) text += '\n';
    text += line_of(sheet, sheet.heads, blocks[b], "");
    for (std::size_t r = 0; r < sheet.rows.size(); ++r)
      text += line_of(sheet, sheet.rows[r], blocks[b],
                      pictured && told[r] < style.beside.size() ? style.beside[told[r]] : std::string());
  }
  if (told.size() < table.rows.size())
    text += wrapped_to(fmt::format("{} of {} rows; `--all` shows the others.", told.size(), table.rows.size()),
                       style.width, left_blanks);
  if (!table.left_out.empty()) text += wrapped_to(harmless(table.left_out), style.width, left_blanks);
  return text;
}

std::vector<std::string> bar_column(const std::vector<double>& shares, bool blocks) {
  constexpr double widest = 12.0;
  constexpr const char* eighths[] = {"", "▏", "▎", "▍", "▌", "▋", "▊", "▉"};
  std::vector<std::string> bars;
  for (const double share : shares) {
    const double size = std::clamp(std::abs(share), 0.0, 1.0) * widest;
    std::string bar = "|";
    if (!blocks || share < 0.0) {
      const std::string letter = share < 0.0 ? "-" : "#";
      const int count = static_cast<int>(size + 0.5);
      for (int i = 0; i < count; ++i) bar += letter;
    } else {
      const int parts = static_cast<int>(size * 8.0 + 0.5);
      for (int i = 0; i < parts / 8; ++i) bar += "█";
      bar += eighths[parts % 8];
    }
    bars.push_back(std::move(bar));
  }
  return bars;
}

}  // namespace tileflux::cli
