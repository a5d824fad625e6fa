"""The network solver: named nodes, branches and sources in, currents and voltages of every state out."""
