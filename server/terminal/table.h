// A list as columns, laid out for any width of screen. Columns with nothing in them are left out.
// Nothing is ever cut: what is too narrow to hold everything loses its least important columns,
// then gives a long first cell a line of its own and wraps a long last one. Pure.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace stationer::server {

class Table {
 public:
  struct Column {
    std::string_view title;  // none is shown when all are empty, or only one column is left
    int rank = 0;            // 0 always stays; the highest goes first when the screen is narrow
    bool right = false;      // lines up at the right, as numbers do
  };

  explicit Table(std::vector<Column> columns) : columns_(std::move(columns)) {}

  void add(std::vector<std::string> cells);  // one for each column
  void note(std::string text);               // under the last row, indented
  bool empty() const { return rows_.empty(); }

  // Lines for a screen of that many columns, each with its line end.
  std::string text(int screen_columns) const;

 private:
  struct Row {
    std::vector<std::string> cells;
    std::vector<std::string> notes;
  };
  struct Layout {
    std::vector<std::size_t> shown;   // which columns
    std::vector<std::size_t> widths;  // of those
    std::size_t gap = 2;
    std::size_t room = 0;
  };
  Layout lay_out(int screen_columns) const;
  void append_row(const std::vector<std::string_view>& cells, const Layout& layout,
                  std::string& out) const;

  std::vector<Column> columns_;
  std::vector<Row> rows_;
};

}  // namespace stationer::server
