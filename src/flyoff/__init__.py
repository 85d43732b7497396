"""Light aircraft on equal terms: from handbooks and a flown day to figures that can be published."""
