#include "admin/program.h"

int main(int argc, char** argv) {
  return stationer::admin::run_program(argc, argv);
}
