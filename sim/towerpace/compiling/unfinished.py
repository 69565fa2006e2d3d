"""What numba does with parts and entries: parts as far as the entry needs them, and the entry once.

numba makes every function ready to run by itself: it optimises it together with all that it calls, and writes
machine code. Parts only ever run inside an entry, which is optimised as a whole, so all that was thrown away,
and what lies deep was optimised once for each that lies above it. Here a part ends as code to be linked.

An entry is what all its parts became, tens of thousands of instructions, and numba would optimise it twice:
first for counting who holds which array, which these do not. Done once, and on a lower level, it is as fast.

This reaches into numba; where a version of it works otherwise, `jit` compiles as numba does.
"""

# mypy: ignore-errors
# The inside of numba is not typed.

from __future__ import annotations

from typing import Any

from numba import _dynfunc
from numba.core.codegen import JITCodeLibrary, JITCPUCodegen
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import LoweringPass, register_pass
from numba.core.typed_passes import NativeLowering

NO_CODE = 0
LEVEL = 1  # of optimisation; 2 and 3 take three times as long and give code that is as fast
# What is overridden or called, or an error here, where `jit` expects one.
_OVERRIDDEN = (JITCodeLibrary._optimize_final_module, JITCodeLibrary._finalize_final_module)
_CALLED = (JITCPUCodegen._module_pass_manager, JITCodeLibrary.enable_object_caching)


class _Unfinished(JITCodeLibrary):
    """Code of one part and of those it calls, to be linked into others."""

    def _optimize_final_module(self) -> None:
        """Left to the entry."""

    def _finalize_final_module(self) -> None:
        """No machine code."""
        self._finalize_dynamic_globals()
        self._finalized = True


@register_pass(mutates_CFG=True, analysis_only=False)
class _GiveToCallers(LoweringPass):
    """Make a part known to those that call it; numba knows functions by what Python would call."""

    _name = "give_part_to_callers"

    def __init__(self) -> None:
        LoweringPass.__init__(self)

    def run_pass(self, state: Any) -> bool:
        """After the code of the part was written."""
        lowered, library = state["cr"], state.library
        name, module = lowered.fndesc.qualname, lowered.fndesc.lookup_module()
        function = _dynfunc.make_function(module, name, "", NO_CODE, lowered.env, (library,))
        state["cr"] = lowered._replace(cfunc=function)
        state.targetctx.insert_user_function(function, lowered.fndesc, [library])
        return True


class _Once(JITCodeLibrary):
    """Code of an entry and all its parts, optimised once."""

    def _optimize_final_module(self) -> None:
        """All passes of a level, without those that come before them for counting."""
        passes = self._codegen._module_pass_manager(opt=LEVEL)
        if not isinstance(passes, tuple):  # numba before its builder of passes
            super()._optimize_final_module()
            return
        manager, builder = passes
        manager.run(self._final_module, builder)


class EntryCompiler(CompilerBase):
    """The compiler of entries."""

    def define_pipelines(self) -> list[Any]:
        """The passes of numba, into a library of our own that can be kept on disk."""
        state = self.state
        state.library = _Once(state.targetctx.codegen(), state.func_id.func_qualname)
        state.library.enable_object_caching()
        passes = DefaultPassBuilder.define_nopython_pipeline(state)
        passes.finalize()
        return [passes]


class PartCompiler(CompilerBase):
    """The compiler of parts."""

    def define_pipelines(self) -> list[Any]:
        """The passes of numba, without those that make a function ready to run."""
        state = self.state
        state.flags.no_compile = True
        state.library = _Unfinished(state.targetctx.codegen(), state.func_id.func_qualname)
        passes = DefaultPassBuilder.define_nopython_pipeline(state)
        passes.add_pass_after(_GiveToCallers, NativeLowering)
        passes.finalize()
        return [passes]
