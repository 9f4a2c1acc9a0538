analyze arrival; analyze arrival_facts;
