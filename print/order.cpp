#include "print/order.h"

#include <fmt/format.h>

#include "print/frames.h"
#include "print/render.h"

namespace stationer::print {
namespace {

const fs::Error unreadable{fs::Code::damaged, "What another process said can't be read."};

void write_numbers(BodyWriter& writer, const std::vector<std::uint64_t>& numbers) {
  writer.number(numbers.size());
  for (const std::uint64_t number : numbers) writer.number(number);
}

std::vector<std::uint64_t> read_numbers(BodyReader& reader) {
  std::vector<std::uint64_t> numbers;
  const std::uint64_t count = reader.number();
  for (std::uint64_t i = 0; i < count && reader.good(); ++i) numbers.push_back(reader.number());
  return numbers;
}

}  // namespace

std::string write_order(const Order& order) {
  const Metadata& about = order.metadata;
  BodyWriter writer;
  writer.text(order.queue)
      .number(order.most_pages)
      .text(about.title)
      .text(about.owner)
      .text(about.origin)
      .text(about.job)
      .number(static_cast<std::uint64_t>(about.created.time_since_epoch().count()));
  write_numbers(writer, order.starts);
  return writer.body();
}

fs::Result<Order> read_order(std::string_view body) {
  BodyReader reader(body);
  Order order;
  order.queue = reader.text();
  order.most_pages = reader.number();
  order.metadata.title = reader.text();
  order.metadata.owner = reader.text();
  order.metadata.origin = reader.text();
  order.metadata.job = reader.text();
  order.metadata.created =
      std::chrono::sys_seconds(std::chrono::seconds(static_cast<std::int64_t>(reader.number())));
  order.starts = read_numbers(reader);
  if (!reader.whole()) return unreadable;
  return order;
}

// A count that is missing here would be lost on the way, so a new one has to be added to both.
static_assert(sizeof(JobReport) == 8 * sizeof(std::uint64_t) + sizeof(std::vector<UnknownCode>) +
                                       sizeof(std::vector<std::uint64_t>));

std::string write_report(const JobReport& report) {
  BodyWriter writer;
  for (const std::uint64_t count :
       {report.pages, report.characters, report.unreadable, report.unknown_controls,
        report.escape_sequences, report.blots, report.crowded_out, report.missing_glyphs}) {
    writer.number(count);
  }
  writer.number(report.unknown.size());
  for (const UnknownCode& code : report.unknown) {
    writer.number(code.offset).text({reinterpret_cast<const char*>(code.bytes.data()), code.size});
  }
  write_numbers(writer, report.parts);
  return writer.body();
}

fs::Result<JobReport> read_report(std::string_view body) {
  BodyReader reader(body);
  JobReport report;
  for (std::uint64_t* count :
       {&report.pages, &report.characters, &report.unreadable, &report.unknown_controls,
        &report.escape_sequences, &report.blots, &report.crowded_out, &report.missing_glyphs}) {
    *count = reader.number();
  }
  const std::uint64_t codes = reader.number();
  if (codes > JobReport::most_shown) return unreadable;
  for (std::uint64_t i = 0; i < codes; ++i) {
    UnknownCode code;
    code.offset = reader.number();
    const std::string bytes = reader.text();
    if (bytes.size() > code.bytes.size()) return unreadable;
    std::copy(bytes.begin(), bytes.end(), code.bytes.begin());
    code.size = static_cast<std::uint8_t>(bytes.size());
    report.unknown.push_back(code);
  }
  report.parts = read_numbers(reader);
  if (!reader.whole()) return unreadable;
  return report;
}

fs::Result<JobReport> carry_out(const Order& order, const Queues& queues, const Fonts& fonts,
                                const ByteSource& source, const PartSink& sink,
                                const PageTold& on_page) {
  const Queue* queue = queues.find(order.queue);
  if (queue == nullptr) {
    return fs::Error{fs::Code::bad_input,
                     fmt::format("The queue \"{}\" is not there any more.", order.queue)};
  }
  RenderJob job{queue->settings, order.metadata, queue->split, order.starts, queue->banner};
  job.settings.text.most_pages = order.most_pages;
  return render(source, job, fonts, sink, on_page);
}

}  // namespace stationer::print
