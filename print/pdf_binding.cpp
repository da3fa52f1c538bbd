#include "print/pdf_binding.h"

#include <vector>

#include <qpdf/Pipeline.hh>
#include <qpdf/QPDFObjectHandle.hh>
#include <qpdf/QPDFPageDocumentHelper.hh>
#include <qpdf/QPDFWriter.hh>

#include "print/pdf_input.h"

namespace stationer::print {
namespace {

using Object = QPDFObjectHandle;

class ToSink : public Pipeline {
 public:
  explicit ToSink(const ByteSink& sink) : Pipeline("sink", nullptr), sink_(sink) {}

  // A failure of the sink's stays; what is written after it goes nowhere.
  void write(unsigned char const* bytes, size_t length) override {
    if (!status_) return;
    out_.append(reinterpret_cast<const char*>(bytes), length);
    if (out_.size() >= piece) hand_on();
  }
  void finish() override {
    if (status_) hand_on();
  }
  const fs::Status& status() const { return status_; }

 private:
  static constexpr std::size_t piece = std::size_t{64} << 10;
  void hand_on() {
    status_ = sink_(out_);
    out_.clear();
  }

  const ByteSink& sink_;
  fs::Status status_;
  std::string out_;
};

// One level of the outline (ISO 32000-1 section 12.3.3): items one after the other.
class Items {
 public:
  Items(QPDF& pdf, Object parent) : pdf_(pdf), parent_(std::move(parent)) {}

  Object add(const std::string& title, Object page) {
    Object item = pdf_.makeIndirectObject(Object::newDictionary());
    item.replaceKey("/Title", Object::newUnicodeString(title));
    item.replaceKey("/Parent", parent_);
    Object place = Object::newArray();
    place.appendItem(page);
    place.appendItem(Object::newName("/Fit"));
    item.replaceKey("/Dest", place);
    if (count_++ == 0) {
      parent_.replaceKey("/First", item);
    } else {
      item.replaceKey("/Prev", last_);
      last_.replaceKey("/Next", item);
    }
    parent_.replaceKey("/Last", item);
    last_ = item;
    return item;
  }
  int count() const { return count_; }

 private:
  QPDF& pdf_;
  Object parent_;
  Object last_;
  int count_ = 0;
};

}  // namespace

fs::Result<std::size_t> count_pages(const OpenContent& open) {
  std::size_t count = 0;
  auto counted = guarded([&](fs::Status& failure) -> fs::Status {
    QPDF pdf;
    open_pdf(pdf, std::make_shared<PdfInput>(open, failure));
    count = pdf.getAllPages().size();
    return {};
  });
  if (!counted) return counted.error();
  return count;
}

fs::Status bind_pdfs(const OpenContent& front, std::span<const BoundPart> parts,
                     const ByteSink& sink) {
  return guarded([&](fs::Status& failure) -> fs::Status {
    const auto one_open = std::make_shared<PdfInput*>(nullptr);
    QPDF whole;
    open_pdf(whole, std::make_shared<PdfInput>(front, failure, one_open));
    QPDFPageDocumentHelper pages(whole);
    pages.pushInheritedAttributesToPage();

    Object outline = whole.makeIndirectObject(Object::newDictionary());
    outline.replaceKey("/Type", Object::newName("/Outlines"));
    Items sections(whole, outline);
    if (!whole.getAllPages().empty()) sections.add("Contents", whole.getAllPages().front());
    std::string section;
    Object section_item;
    std::unique_ptr<Items> items;
    int in_all = 0;
    const auto end_section = [&] {
      if (!items) return;
      section_item.replaceKey("/Count", Object::newInteger(items->count()));
      in_all += items->count();
    };
    for (const BoundPart& part : parts) {
      QPDF pdf;
      open_pdf(pdf, std::make_shared<PdfInput>(part.open, failure, one_open));
      QPDFPageDocumentHelper part_pages(pdf);
      part_pages.pushInheritedAttributesToPage();
      const std::size_t first = whole.getAllPages().size();
      for (auto& page : part_pages.getAllPages()) pages.addPage(page, false);
      if (whole.getAllPages().size() == first) continue;
      const Object begin = whole.getAllPages().at(first);
      if (!items || part.section != section) {
        end_section();
        section = part.section;
        section_item = sections.add(section, begin);
        items = std::make_unique<Items>(whole, section_item);
      }
      items->add(part.title, begin);
    }
    end_section();
    outline.replaceKey("/Count", Object::newInteger(sections.count() + in_all));
    Object catalog = whole.getRoot();
    catalog.replaceKey("/Outlines", outline);
    catalog.replaceKey("/PageMode", Object::newName("/UseOutlines"));

    ToSink out(sink);
    QPDFWriter writer(whole);
    writer.setOutputPipeline(&out);
    writer.setDeterministicID(true);
    writer.setStreamDataMode(qpdf_s_preserve);
    writer.setObjectStreamMode(qpdf_o_disable);
    writer.write();
    return out.status();
  });
}

}  // namespace stationer::print
