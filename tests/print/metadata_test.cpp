#include "print/metadata.h"

#include "tests/print/printing.h"

using namespace stationer::print;
using stationer::test::metadata;

TEST_CASE("the Info dictionary says what is known") {
  CHECK(info_dictionary(metadata()) ==
        "<</Title(Ledger \\(May\\))/Author(robin)/Creator(station 1.7, queue listing)"
        "/Producer(Stationer " STATIONER_VERSION
        ")/CreationDate(D:20260517090000Z)/ModDate(D:20260517090000Z)>>");
}

TEST_CASE("what isn't known isn't said") {
  Metadata nobody = metadata();
  nobody.owner.clear();
  nobody.origin.clear();
  CHECK_THAT(info_dictionary(nobody), !Catch::Contains("/Author") && !Catch::Contains("/Creator("));
  CHECK_THAT(xmp_packet(nobody), !Catch::Contains("dc:creator") && !Catch::Contains("CreatorTool"));
}

TEST_CASE("the XMP packet says the same as the Info dictionary") {
  const std::string packet = xmp_packet(metadata());
  // The pairs: ISO 19005-1 section 6.7.3, table 1.
  for (const char* same :
       {"<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">Ledger "
        "(May)</rdf:li></rdf:Alt></dc:title>",
        "<dc:creator><rdf:Seq><rdf:li>robin</rdf:li></rdf:Seq></dc:creator>",
        "<xmp:CreatorTool>station 1.7, queue listing</xmp:CreatorTool>",
        "<pdf:Producer>Stationer " STATIONER_VERSION "</pdf:Producer>",
        "<xmp:CreateDate>2026-05-17T09:00:00Z</xmp:CreateDate>",
        "<xmp:ModifyDate>2026-05-17T09:00:00Z</xmp:ModifyDate>", "<pdfaid:part>2</pdfaid:part>",
        "<pdfaid:conformance>U</pdfaid:conformance>"}) {
    CHECK_THAT(packet, Catch::Contains(same));
  }
  CHECK_THAT(packet,
             Catch::StartsWith("<?xpacket begin=") && Catch::EndsWith("<?xpacket end=\"w\"?>"));
  CHECK_THAT(packet, !Catch::Contains("bytes=") && !Catch::Contains("encoding="));
}

TEST_CASE("metadata survives whatever a station sends as a title") {
  Metadata odd = metadata();
  odd.title = "a\tb\x01<&>\xFF \xC3\xA9 \xEF\xBF\xBE";
  CHECK_THAT(xmp_packet(odd), Catch::Contains(">a b &lt;&amp;&gt;\uFFFD é  </rdf:li>"));
  CHECK_THAT(info_dictionary(odd), Catch::Contains("/Title<FEFF00610020006200"));
  odd.title = std::string(1'000'000, 'x');
  CHECK(info_dictionary(odd).size() < 1000);
  odd.title = std::string(499, 'x') + "é";  // cut inside the character, which is left out
  CHECK_THAT(info_dictionary(odd), Catch::Contains("x)/Author"));
}
