"""How parts of the kernel are compiled: as far as the entry needs them, and no further.

numba makes every function ready to run by itself: it optimises it together with all that it calls, and writes
machine code. Parts only ever run inside an entry, which is optimised as a whole, so all that was thrown away,
and what lies deep was optimised once for each that lies above it. Here a part ends as code to be linked.

This reaches into numba; where a version of it works otherwise, `jit` compiles parts as numba does.
"""

# mypy: ignore-errors
# The inside of numba is not typed.

from __future__ import annotations

from typing import Any

from numba import _dynfunc
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import LoweringPass, register_pass
from numba.core.typed_passes import NativeLowering

NO_CODE = 0
_OVERRIDDEN = (JITCodeLibrary._optimize_final_module, JITCodeLibrary._finalize_final_module)  # or an error


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
