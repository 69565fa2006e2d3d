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

from functools import cache
from typing import Any

from numba import _dynfunc
from numba.core import types
from numba.core.codegen import JITCodeLibrary, JITCPUCodegen
from numba.core.compiler import CompilerBase
from numba.core.compiler_machinery import LoweringPass, PassManager, register_pass
from numba.core.typed_passes import (
    IRLegalization,
    NativeLowering,
    NoPythonBackend,
    NopythonTypeInference,
    PreLowerStripPhis,
)
from numba.core.typing.context import Context
from numba.core.untyped_passes import (
    FixupArgs,
    GenericRewrites,
    IRProcessing,
    ReconstructSSA,
    TranslateByteCode,
)

NO_CODE = 0
_OF_NUMBERS = ("_operator", "builtins")
LEVEL = 1  # of optimisation; 2 and 3 take three times as long and give code that is as fast
# What is overridden or called, or an error here, where `jit` expects one.
_OVERRIDDEN = (JITCodeLibrary._optimize_final_module, JITCodeLibrary._finalize_final_module)
_CALLED = (JITCPUCodegen._module_pass_manager, JITCodeLibrary.enable_object_caching)


class _Unfinished(JITCodeLibrary):
    """Code of one part and of those it calls, to be linked into others."""

    def _optimize_functions(self, module: Any) -> None:
        """Left to the entry, too."""
        module.data_layout = self._codegen._data_layout

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


class _Quick(Context):
    """numba's knowledge of types, which remembers what an operation on numbers gives.

    numba asks some ten rules each time that it meets `a + b`: a third of what it takes to find types.
    """

    def resolve_function_type(self, func: Any, args: Any, kws: Any) -> Any:
        """The signature of a call."""
        called = getattr(func, "typing_key", func)
        if kws or getattr(called, "__module__", "") not in _OF_NUMBERS or not all(map(_is_number, args)):
            return super().resolve_function_type(func, args, kws)
        if (func, args) not in self.remembered:
            self.remembered[func, args] = super().resolve_function_type(func, args, kws)
        return self.remembered[func, args]


def _is_number(kind: Any) -> bool:
    return isinstance(kind, types.Number | types.Boolean)


@cache
def quick(context: Any) -> Any:
    """A context that knows all that another knows, and learns with it."""
    own = _Quick.__new__(_Quick)
    own.__dict__ = context.__dict__
    own.remembered = {}
    return own


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


def _passes(state: Any, *more: Any) -> list[Any]:
    """What numba does with a function of numbers alone, and then some more.

    Its other passes look for closures, comprehensions, arrays as a whole, raises: a third of the time.
    """
    passes = PassManager("numbers alone")
    for step in (
        TranslateByteCode,
        FixupArgs,
        IRProcessing,
        GenericRewrites,
        ReconstructSSA,
        NopythonTypeInference,
        PreLowerStripPhis,
        IRLegalization,
        NativeLowering,
        *more,
    ):
        passes.add_pass(step, step.__name__)
    passes.finalize()
    state.typingctx = quick(state.typingctx)
    return [passes]


class EntryCompiler(CompilerBase):
    """The compiler of entries."""

    def define_pipelines(self) -> list[Any]:
        """Into a library of our own that can be kept on disk."""
        state = self.state
        state.library = _Once(state.targetctx.codegen(), state.func_id.func_qualname)
        state.library.enable_object_caching()
        return _passes(state, NoPythonBackend)


class PartCompiler(CompilerBase):
    """The compiler of parts."""

    def define_pipelines(self) -> list[Any]:
        """Without what makes a function ready to run."""
        state = self.state
        state.flags.no_compile = True
        state.library = _Unfinished(state.targetctx.codegen(), state.func_id.func_qualname)
        return _passes(state, _GiveToCallers, NoPythonBackend)
