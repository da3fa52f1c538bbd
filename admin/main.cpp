#include <string_view>

#include "admin/program.h"
#include "print/print_helper.h"

int main(int argc, char** argv) {
  // How a service starts itself once more, to print (print/confined_renderer.h); not for people.
  if (argc == 2 && std::string_view(argv[1]) == stationer::print::helper_word) {
    return stationer::print::run_print_helper();
  }
  return stationer::admin::run_program(argc, argv);
}
