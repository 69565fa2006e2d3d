"""How an answer is said: tables of described columns, facts, sentences, cautions and names of figures."""
