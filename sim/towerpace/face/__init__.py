"""What Python and the command line call: one function a question, its answer with tables and figures."""
